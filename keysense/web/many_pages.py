"""Reading: pages over many takes of one pupil, and a take beside the playing it was learnt from."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from keysense.dashboards import manners, model, overnight, sight
from keysense.web.pages import show, studio_of

__all__ = ["ROUTES"]


def _open(request: Request) -> bool:
    return "open" in request.query_params


def overnight_page(request: Request) -> Response:
    """What stayed from one lesson to the next?"""
    page = overnight.page(studio_of(request), request.path_params["pupil"])
    return show(request, "overnight", page, open=_open(request))


def manners_page(request: Request) -> Response:
    """Do tunes learnt by ear and from the page go differently?"""
    page = manners.page(studio_of(request), request.path_params["pupil"])
    return show(request, "manners", page, open=_open(request))


def sight_page(request: Request) -> Response:
    """Where did the tune wait at first sight?"""
    page = sight.page(studio_of(request), request.path_params["pupil"])
    return show(request, "sight", page, open=_open(request))


def model_page(request: Request) -> Response:
    """Did it take the shape of the playing it was learnt from?"""
    return show(request, "model", model.page(studio_of(request), request.path_params["ref"]), open=_open(request))


ROUTES = [
    Route("/overnight/{pupil}", overnight_page),
    Route("/manners/{pupil}", manners_page),
    Route("/sight/{pupil}", sight_page),
    Route("/model/{ref}", model_page),
]
