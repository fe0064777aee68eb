"""Papers on the pages: read, changed in place, signed by one press; plain text and PDF of what was signed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route

from keysense.dashboards import card, note
from keysense.errors import AgreementError, StudioError, UnknownName
from keysense.page import Panel
from keysense.papers import Desk, afresh, as_text, call, decline, desk, keep, sign
from keysense.studio.rows import PaperKind
from keysense.studio.studio import Studio
from keysense.web.draw_papers import paper
from keysense.web.forms import back_to
from keysense.web.forms import press as press_form
from keysense.web.pages import own_studio, studio_of
from keysense.web.render import Faulty, Shell, render_part
from keysense.web.shell import shell_for
from keysense.words import word
from keysense.words.figures import sentence

__all__ = ["ROUTES", "paper_html"]

_KINDS: tuple[PaperKind, ...] = ("note", "slip", "card")


def paper_html(studio: Studio, kind: PaperKind, pupil_id: str, day: date | None, shell: Shell) -> str:
    """One paper as HTML, inside the shell it is read in."""
    page = card.page(studio, pupil_id, day) if kind == "card" else note.page(studio, pupil_id, day, kind=kind)
    (panel,) = page.panels
    drawn = Panel(panel.kind, panel.name, paper(panel.content))
    names = panel.content["desk"].lesson.names[1:]
    template = "card.html" if kind == "card" else "paper.html"
    return render_part(template, drawn, replace(shell, emphasis=names))


def read(request: Request) -> Response:
    """A paper, a draft or signed."""
    return HTMLResponse(_html(request))


def _html(request: Request, faulty: Faulty | None = None) -> str:
    notice = word("paper.kept") if request.query_params.get("done") == "kept" and faulty is None else ""
    shell = shell_for(
        studio_of(request), "paper", request.url.path, has_lesson=request.app.state.lesson is not None,
        heard_in=own_studio(request),
        notice=notice, faulty=faulty,
    )  # fmt: skip
    return paper_html(studio_of(request), _kind(request), request.path_params["pupil"], _day(request), shell)


async def press(request: Request) -> Response:
    """Keep, sign, change again, or none this time."""
    async with request.form() as form:
        return await run_in_threadpool(_pressed, request, form)


def _pressed(request: Request, form: FormData) -> Response:
    studio, on, act = studio_of(request), _desk(request), str(form.get("act", ""))
    text = {part: str(form.get(part, "")) for part in on.text if part in form}
    done = ""
    if act == "sign":
        try:
            sign(studio, on, text, str(form.get("by", "")))
        except AgreementError:
            raise
        except StudioError as cause:  # no name, or too many words: what was written stays on the page
            keep(studio, on, text)
            form_name = "paper" if str(form.get("by", "")).strip() else "sign"
            return HTMLResponse(_html(request, faulty=Faulty(form_name, sentence(str(cause)))))
    elif act == "none":
        decline(studio, on)
    elif act == "afresh":
        afresh(studio, on)
    elif act == "change":
        if on.paper is not None:
            _open_again(studio, on)
    else:
        keep(studio, on, text)
        done = "?done=kept"
    path = f"/{on.kind}/{quote(on.lesson.pupil_id)}/{on.lesson.day}"
    return RedirectResponse(path + done, 303)


def _open_again(studio: Studio, on: Desk) -> None:
    """A signed paper becomes a draft with its words; a card after all begins with a fresh draft."""
    if on.is_declined:
        keep(studio, on, {})
    elif on.paper is not None:
        studio.reopen_paper(on.paper.id)


def text(request: Request) -> Response:
    """The plain-text twin of a signed paper."""
    on = _desk(request)
    studio_of(request).leaving(on.paper)
    return PlainTextResponse(as_text(on))


def pdf(request: Request) -> Response:
    """A signed paper as a PDF of one page."""
    from keysense.export import paper_pdf

    on = _desk(request)
    data = paper_pdf(studio_of(request), on)
    headers = {"content-disposition": f'inline; filename="{on.kind}-{on.lesson.day}.pdf"'}
    return Response(data, media_type="application/pdf", headers=headers)


@press_form
def name_studio(request: Request, form: FormData) -> Response:
    """What the studio is called on its papers."""
    called = call(studio_of(request), str(form.get("said", "")))
    return back_to("/studio", "called" if called else "uncalled", "called")


def _desk(request: Request) -> Desk:
    return desk(studio_of(request), _kind(request), request.path_params["pupil"], _day(request))


def _kind(request: Request) -> PaperKind:
    first = request.url.path.split("/")[1]
    return next(kind for kind in _KINDS if kind == first)


def _day(request: Request) -> date | None:
    said = request.path_params.get("day")
    if said is None:
        return None
    try:
        return date.fromisoformat(said)
    except ValueError:
        raise UnknownName(word("notfound.said")) from None


ROUTES = [
    Route("/studio/called", name_studio, methods=["POST"]),
    *(
        route
        for kind in _KINDS
        for route in (
            Route(f"/{kind}/{{pupil}}", read),
            Route(f"/{kind}/{{pupil}}/{{day}}", read),
            Route(f"/{kind}/{{pupil}}/{{day}}", press, methods=["POST"]),
            Route(f"/{kind}/{{pupil}}/{{day}}/text", text),
            Route(f"/{kind}/{{pupil}}/{{day}}/pdf", pdf),
        )
    ),
]
"""Every address of a paper: the last lesson's, one lesson's, its presses, and what leaves once it is signed."""
