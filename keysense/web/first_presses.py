"""Pressing in the first minute: steps left out, the first note; the demo studio opened, left and removed."""

from __future__ import annotations

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from keysense.dashboards import demo
from keysense.studio.first import leave_out, step_done
from keysense.web.demo_room import DemoRoom
from keysense.web.forms import back_to, press
from keysense.web.pages import show, studio_of

__all__ = ["ROUTES"]


@press
def skip(request: Request, form: FormData) -> Response:
    """A step is left out."""
    leave_out(studio_of(request), request.path_params["step"])
    return back_to("/", "skipped")


@press
def heard(request: Request, form: FormData) -> Response:
    """The piano answered: a page saw the first note come."""
    step_done(studio_of(request), "note")
    return back_to("/")


def making(request: Request) -> Response:
    """How far the demo studio has come."""
    room = _room(request)
    return show(request, "demo", demo.page(room.state, room.lines, room.why))


@press
def open_demo(request: Request, form: FormData) -> Response:
    """Into the demo studio; where it is not there yet, it is made and one can watch."""
    return back_to("/", "demo") if _room(request).open() else back_to("/demo")


@press
def leave_demo(request: Request, form: FormData) -> Response:
    """Back to the teacher's own studio."""
    _room(request).leave()
    return back_to("/", "demo_left")


@press
def remove_demo(request: Request, form: FormData) -> Response:
    """The demo studio is taken away."""
    _room(request).remove()
    return back_to("/", "demo_gone")


def _room(request: Request) -> DemoRoom:
    room: DemoRoom = request.app.state.demo
    return room


ROUTES = [
    Route("/first/{step}/skip", skip, methods=["POST"]),
    Route("/first/note", heard, methods=["POST"]),
    Route("/demo", making),
    Route("/demo/open", open_demo, methods=["POST"]),
    Route("/demo/leave", leave_demo, methods=["POST"]),
    Route("/demo/remove", remove_demo, methods=["POST"]),
]
