"""What is kept of one pupil over the pages: to be seen, copied and erased, as the guardian was promised."""

from __future__ import annotations

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from keysense.dashboards import kept
from keysense.errors import StudioError
from keysense.studio.copying import copy_of
from keysense.web.forms import back_to, press, press_of
from keysense.web.pages import notice_of, show, studio_of
from keysense.words import word

__all__ = ["ROUTES"]


def page(request: Request) -> Response:
    """What is kept of this pupil?"""
    is_open = "open" in request.query_params
    made = kept.page(studio_of(request), request.path_params["pupil"])
    return show(request, "kept", made, open=is_open, notice=notice_of(request))


def copy(request: Request) -> Response:
    """All of it as one file; no name of a person in the name of the file."""
    data = copy_of(studio_of(request), request.path_params["pupil"])
    return Response(
        data, media_type="application/zip", headers={"content-disposition": 'attachment; filename="kept.zip"'}
    )


@press_of("erase", "/kept/{pupil}")
def erase(request: Request, form: FormData) -> Response:
    """All of it is erased, once it was said that it shall be."""
    studio, pupil = studio_of(request), studio_of(request).pupil(request.path_params["pupil"])
    if form.get("sure") != "yes":
        raise StudioError(word("kept.erase.ask", pupil=pupil.nickname))
    studio.erase_pupil(pupil.id)
    return back_to("/studio", "erased")


@press_of("agree", "/kept/{pupil}")
def agree(request: Request, form: FormData) -> Response:
    """The guardian agreed anew, today."""
    studio, pupil = studio_of(request), studio_of(request).pupil(request.path_params["pupil"])
    if form.get("agreed") != "yes":
        raise StudioError(word("kept.renew.ask"))
    until = str(form.get("until", "")).strip() or None
    studio.agree(pupil.id, agreed_by=str(form.get("agreed_by", "")), on=studio.today(), until=until)
    return back_to(f"/kept/{pupil.id}", "agreed")


@press
def withdraw(request: Request, form: FormData) -> Response:
    """The agreement was taken back."""
    pupil = studio_of(request).withdraw(request.path_params["pupil"])
    return back_to(f"/kept/{pupil.id}", "withdrawn")


@press_of("nickname", "/kept/{pupil}")
def nickname(request: Request, form: FormData) -> Response:
    """Another nickname."""
    pupil = studio_of(request).call_pupil(request.path_params["pupil"], str(form.get("nickname", "")))
    return back_to(f"/kept/{pupil.id}", "nickname")


ROUTES = [
    Route("/kept/{pupil}", page),
    Route("/kept/{pupil}/copy.zip", copy),
    Route("/kept/{pupil}/agree", agree, methods=["POST"]),
    Route("/kept/{pupil}/withdraw", withdraw, methods=["POST"]),
    Route("/kept/{pupil}/nickname", nickname, methods=["POST"]),
    Route("/kept/{pupil}/erase", erase, methods=["POST"]),
]
