"""Forms: read, pressed in a thread, and given back with what had been typed where something is wrong with them."""

from __future__ import annotations

import inspect
from collections.abc import Awaitable, Callable
from functools import wraps
from urllib.parse import quote, urlsplit

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Match

from keysense.errors import KeysenseError
from keysense.web.render import Faulty
from keysense.words.figures import sentence

__all__ = ["back_to", "our_path", "press", "press_of"]

_Press = Callable[[Request, FormData], Response]
_Endpoint = Callable[[Request], Awaitable[Response]]


def press(pressed: _Press) -> _Endpoint:
    """Read the form, then press in a thread: a slow disk must not hold up the other pages."""

    @wraps(pressed)
    async def endpoint(request: Request) -> Response:
        async with request.form() as form:
            return await run_in_threadpool(pressed, request, form)

    return endpoint


def press_of(form_name: str, page: str = "/") -> Callable[[_Press], _Endpoint]:
    """As `press`, for a form that is filled in: a fault leads back to its page, with all that had been typed.

    The page is the form's field ``back``, else ``page``, in which ``{ref}`` is a part of the address pressed.
    """

    def wrap(pressed: _Press) -> _Endpoint:
        @wraps(pressed)
        def careful(request: Request, form: FormData) -> Response:
            try:
                return pressed(request, form)
            except KeysenseError as cause:
                typed = _typed(form)
                back = our_path(str(form.get("back", "")) or page.format(**request.path_params))
                again = _page(request, back, Faulty(form_name, sentence(str(cause)), typed))
                if again is None:
                    raise
                return again

        return press(careful)

    return wrap


def _typed(form: FormData) -> dict[str, str]:
    """All that was typed or ticked; of several of one name each on a line of its own."""
    typed: dict[str, str] = {}
    for name, said in form.multi_items():
        if isinstance(said, str):
            typed[name] = f"{typed[name]}\n{said}" if name in typed else said
    return typed


def _page(request: Request, path: str, faulty: Faulty) -> Response | None:
    """A page as it is read, with one faulty form on it; None where no page stands there."""
    scope = {
        **request.scope,
        "method": "GET",
        "path": path,
        "query_string": b"",
        "state": {**request.scope["state"], "faulty": faulty},
    }
    for route in request.app.routes:
        match, more = route.matches(scope)
        endpoint = getattr(route, "endpoint", None)
        if match is Match.FULL and endpoint is not None and not inspect.iscoroutinefunction(endpoint):
            answer: Response = endpoint(Request({**scope, **more}))
            return answer  # 200: the page is whole, and the fault is said on it; a browser would log anything else
    return None


def our_path(path: str) -> str:
    """A path of ours; one that leads elsewhere leads to the lesson."""
    ours = path if path.startswith("/") and not path.startswith(("//", "/\\")) else "/"
    return urlsplit(ours).path


def back_to(path: str, done: str = "", anchor: str = "") -> Response:
    """To a page of ours, which says once what was done."""
    said = f"?done={done}" if done else ""
    return RedirectResponse(f"{quote(our_path(path))}{said}{f'#{anchor}' if anchor else ''}", 303)
