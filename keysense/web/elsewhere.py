"""What was kept on another machine, brought home: its page and its press."""

from __future__ import annotations

from pathlib import Path

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from keysense.dashboards import elsewhere
from keysense.errors import StudioError
from keysense.studio.gathering import gather, in_both
from keysense.web.forms import press_of
from keysense.web.pages import show, studio_of
from keysense.words import word

__all__ = ["ROUTES"]


def page(request: Request) -> Response:
    """What was played somewhere else?"""
    return show(request, "elsewhere", elsewhere.page(studio_of(request)))


@press_of("gather", "/elsewhere")
def bring_home(request: Request, form: FormData) -> Response:
    """Bring it, once it was said of each nickname in both registers that it is one child's."""
    studio, folder = studio_of(request), str(form.get("folder", "")).strip()
    if not folder:
        raise StudioError(word("gather.empty"))
    same = [str(name) for name in form.getlist("same")]
    both = [name for name in in_both(studio, Path(folder)) if name not in same]
    if both:
        return show(request, "elsewhere", elsewhere.page(studio, folder=folder, both=both, same=same))
    found = gather(studio, Path(folder), same=same)
    return show(request, "elsewhere", elsewhere.page(studio, found=found))


ROUTES = [Route("/elsewhere", page), Route("/elsewhere", bring_home, methods=["POST"])]
