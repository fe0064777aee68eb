"""Every page is read as one moment of the studio: one session of the database a page, instead of one a question."""

from __future__ import annotations

from collections.abc import Sequence
from functools import wraps
from inspect import iscoroutinefunction

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from keysense.web.pages import moment_of

__all__ = ["of_one_moment"]


def of_one_moment(routes: Sequence[Route]) -> list[Route]:
    """The same routes, their pages read so. A press is left as it is: it writes, and reads what it wrote."""
    return [_read_once(route) if _is_page(route) else route for route in routes]


def _is_page(route: Route) -> bool:
    return "GET" in (route.methods or ()) and not iscoroutinefunction(route.endpoint)


def _read_once(route: Route) -> Route:
    @wraps(route.endpoint)
    def endpoint(request: Request) -> Response:
        with moment_of(request):
            answer: Response = route.endpoint(request)
            return answer

    return Route(route.path, endpoint, methods=list(route.methods or ()))
