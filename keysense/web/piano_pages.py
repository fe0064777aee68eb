"""The page of the pianos: beginning a survey, taking it up, leaving it."""

from __future__ import annotations

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from keysense.dashboards import pianos
from keysense.studio import surveying
from keysense.web.forms import back_to, press, press_of
from keysense.web.pages import show, studio_of
from keysense.words import has_word, word

__all__ = ["ROUTES"]


def pianos_page(request: Request) -> Response:
    """How does this piano answer?"""
    done = f"done.{request.query_params.get('done', '')}"
    return show(request, "pianos", pianos.page(studio_of(request)), notice=word(done) if has_word(done) else "")


@press
def begin(request: Request, form: FormData) -> Response:
    """From now on what is played is the survey."""
    surveying.begin(studio_of(request), touch_setting=str(form.get("setting", ""))[:80])
    return back_to("/pianos", "survey_begun")


@press_of("survey", "/pianos")
def done(request: Request, form: FormData) -> Response:
    """It was played: the piano is known, or the page says what is missing."""
    surveying.take_up(studio_of(request))
    return back_to("/pianos", "surveyed")


@press
def stop(request: Request, form: FormData) -> Response:
    """Not now: what was played is nobody's."""
    studio = studio_of(request)
    now = surveying.under_way(studio)
    for take in now.takes if now else ():
        studio.drop_take(take.id)
    surveying.end(studio)
    return back_to("/pianos", "survey_stopped")


ROUTES = [
    Route("/pianos", pianos_page),
    Route("/pianos/begin", begin, methods=["POST"]),
    Route("/pianos/done", done, methods=["POST"]),
    Route("/pianos/stop", stop, methods=["POST"]),
]
