"""The application: pages, presses, one live connection, the static files, behind one guard."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from urllib.parse import quote

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Mount, Route, WebSocketRoute
from starlette.staticfiles import StaticFiles

from keysense.errors import KeysenseError, UnknownName
from keysense.studio.studio import Studio
from keysense.web import (
    elsewhere,
    first_presses,
    hearing,
    kept,
    lesson_presses,
    many_pages,
    pages,
    papers,
    piano_pages,
    piece_presses,
    presses,
    share_presses,
)
from keysense.web.demo_room import DemoRoom
from keysense.web.files import STATIC, KeptFiles, address
from keysense.web.guard import LOCAL_HOSTS, Guard
from keysense.web.line import LiveLine
from keysense.web.live import Hub, LessonLike, Running, Stamp, watch
from keysense.web.one_moment import of_one_moment
from keysense.words import word
from keysense.words.catalogue import use_language

__all__ = ["create_app"]


_ROUTES = [
    Route("/", pages.lesson_page),
    Route("/take/{ref}", pages.take_page),
    Route("/beside", pages.latest_pair),
    Route("/beside/{first}/{second}", pages.beside_page),
    Route("/weeks", pages.weeks_list),
    Route("/weeks/{pupil}", pages.weeks_page),
    Route("/studio", pages.studio_page),
    Route("/spots/{pupil}/{piece}", pages.spots_page),
    Route("/shape/{ref}", pages.shape_page),
    Route("/part/takes", pages.takes_part),
    Route("/part/weeks/{pupil}/{number:int}", pages.weeks_closer),
    Route("/part/state", pages.state_part),
    Route("/take/{ref}/name", presses.name, methods=["POST"]),
    Route("/take/{ref}/model", presses.play_in, methods=["POST"]),
    Route("/take/{ref}/yes", presses.yes, methods=["POST"]),
    Route("/take/{ref}/drop", presses.drop, methods=["POST"]),
    Route("/take/{ref}/undo", presses.undo, methods=["POST"]),
    Route("/ahead", presses.ahead, methods=["POST"]),
    Route("/again", presses.again, methods=["POST"]),
    Route("/listening", presses.switch, methods=["POST"]),
    Route("/piece", presses.bring_piece, methods=["POST"]),
    Route("/pupil", presses.add_pupil, methods=["POST"]),
    *many_pages.ROUTES,
    *elsewhere.ROUTES,
    *kept.ROUTES,
    *piano_pages.ROUTES,
    *lesson_presses.ROUTES,
    *piece_presses.ROUTES,
    *first_presses.ROUTES,
    *papers.ROUTES,
    *hearing.ROUTES,
    *share_presses.ROUTES,
]


def create_app(studio: Studio, lesson: LessonLike | None = None, *, hosts: Sequence[str] = LOCAL_HOSTS) -> Starlette:
    """The pages of a studio; with a lesson, a take played on the piano appears on them by itself.

    hosts: the names these pages answer to, beside which every request is refused.
    """
    use_language(studio.settings.language)
    hub = Hub()
    running, line = Running(lesson, hub), LiveLine(studio, hub.tell)

    @asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        hub.begin()
        running.begin()
        watching = asyncio.create_task(watch(studio, hub))
        yield
        watching.cancel()
        app.state.back_to_piano.stop()
        line.switch(False)
        running.end()
        app.state.demo.close()

    app = Starlette(
        routes=[
            *of_one_moment(_ROUTES),
            WebSocketRoute("/live", hub.endpoint),
            Mount(address(), KeptFiles(directory=STATIC)),
            Mount("/static", StaticFiles(directory=STATIC)),
        ],
        middleware=[
            Middleware(Guard, hosts=hosts),
            Middleware(Stamp, hub=hub),
            Middleware(GZipMiddleware, minimum_size=1000, compresslevel=1),  # on this machine a byte is soon carried
        ],
        exception_handlers={KeysenseError: _problem, 404: _nothing, 405: _pressed_before, 500: _problem},
        lifespan=lifespan,
    )
    app.state.lesson, app.state.hub = lesson, hub
    app.state.demo = DemoRoom(studio, lambda: hub.tell({"kind": "demo"}))
    app.state.running, app.state.line = running, line
    app.state.back_to_piano = hearing.BackToPiano()
    return app


async def _pressed_before(request: Request, error: Exception) -> Response:
    """A page that answered a press is read again: to the page of that take, else to the lesson."""
    parts = request.url.path.split("/")
    return RedirectResponse(f"/take/{quote(parts[2])}" if parts[1] == "take" and len(parts) > 2 else "/", 303)


async def _nothing(request: Request, error: Exception) -> Response:
    return pages.problem(request, UnknownName(word("notfound.said")))


async def _problem(request: Request, error: Exception) -> Response:
    return pages.problem(request, error)
