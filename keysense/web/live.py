"""What the piano does, told to every open page: one WebSocket a page, one line of JSON an event.

The lesson runs in a thread of its own and calls `Hub.tell`; nothing here reads, cuts or measures.
"""

from __future__ import annotations

import asyncio
import logging
import threading
from collections.abc import Callable
from typing import Any, NamedTuple, Protocol

from starlette.types import ASGIApp, Receive, Scope, Send
from starlette.websockets import WebSocket, WebSocketDisconnect

from keysense.capture.state import ListeningState
from keysense.errors import KeysenseError
from keysense.studio.studio import Studio

__all__ = ["Hub", "LessonLike", "Running", "Stamp", "watch"]

_WATCH_S = 1.0
_WAITING_MOST = 200  # events a page may lie behind before it is told to look afresh
_DRAWN_MOST = 20
_PASSING = ("key", "drawn")  # told to who is there; nothing of it stands on a page that comes later


class LessonLike(Protocol):
    """What listens while the pages are open: `run` returns when `stop` was called."""

    def run(self, on_event: Callable[[dict[str, Any]], None]) -> None:
        """Call back for every event until stopped."""

    def stop(self) -> None:
        """End `run`."""


class Hub:
    """Every open page, and the way to them from the lesson's thread.

    trouble: what ended the lesson. told: how many events were told that change what a page shows; a page says what
    this was when it was made (`Stamp`), and looks afresh if anything came between that and its connection.
    """

    def __init__(self) -> None:
        self._queues: set[asyncio.Queue[dict[str, Any]]] = set()
        self._loop: asyncio.AbstractEventLoop | None = None
        self.trouble = ""
        self.told = 0

    def begin(self) -> None:
        """Take hold of the running event loop."""
        self._loop = asyncio.get_running_loop()

    def tell(self, event: dict[str, Any]) -> None:
        """Tell every page; may be called from any thread."""
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._put, _plain(event))

    def _put(self, event: dict[str, Any]) -> None:
        self.told += event["kind"] not in _PASSING
        # a page that lags is spared the line, so that it never misses a take
        most = _DRAWN_MOST if event["kind"] == "drawn" else _WAITING_MOST
        for queue in self._queues:
            if queue.qsize() < most:
                queue.put_nowait(event)

    async def endpoint(self, websocket: WebSocket) -> None:
        """One page: sent what happens until it goes away."""
        queue: asyncio.Queue[dict[str, Any]] = asyncio.Queue()
        await websocket.accept()
        self._queues.add(queue)
        if websocket.query_params.get("told", str(self.told)) != str(self.told):
            queue.put_nowait({"kind": "missed"})
        listening = asyncio.create_task(_until_gone(websocket))
        try:
            while not listening.done():
                event = asyncio.create_task(queue.get())
                await asyncio.wait({event, listening}, return_when=asyncio.FIRST_COMPLETED)
                if not event.done():
                    event.cancel()
                    break
                await websocket.send_json(event.result())
        except (WebSocketDisconnect, RuntimeError):
            pass  # the page went while it was being told
        finally:
            self._queues.discard(queue)
            listening.cancel()


class Stamp:
    """Notes on every request what had been told when it came in, before anything is read for its page."""

    def __init__(self, app: ASGIApp, hub: Hub) -> None:
        self.app, self._hub = app, hub

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass it on with the figure."""
        if scope["type"] != "lifespan":
            scope.setdefault("state", {})["told"] = self._hub.told
        await self.app(scope, receive, send)


def _plain(event: dict[str, Any]) -> dict[str, Any]:
    """What pages need to know of an event: its kind, its take, its line.

    What was played is told by one kind alone, ``drawn``, which `keysense.web.line` sends on the
    teacher's wish.
    """
    wanted = ("kind", "now_s", "down", "keys") if event["kind"] == "drawn" else ("kind", "take", "line")
    return {key: event[key] for key in wanted if key in event}


async def _until_gone(websocket: WebSocket) -> None:
    """Pages say nothing over the WebSocket; what is received can only be the end."""
    while (await websocket.receive())["type"] != "websocket.disconnect":
        pass


async def watch(studio: Studio, hub: Hub, every_s: float = _WATCH_S) -> None:
    """What another keysense does to this studio, told to the pages: takes that come in, the piano that comes and goes.

    The lesson's own events are quicker; this is for a listener in another window, and for commands.
    """
    before: _Seen | None = None
    while True:
        now = await asyncio.to_thread(_seen, studio)
        if before is not None and now is not None:
            if now.takes and now.takes != before.takes:
                hub.tell({"kind": "take", "take": now.takes[0][0]})
            if now.piano != before.piano:
                hub.tell({"kind": "piano"})
        before = now or before
        await asyncio.sleep(every_s)


class _Seen(NamedTuple):
    """The newest takes, the newest first, and the piano's state."""

    takes: list[tuple[object, ...]]
    piano: tuple[object, ...]


def _seen(studio: Studio) -> _Seen | None:
    """What there is now; None while the studio is busy."""
    try:
        takes: list[tuple[object, ...]] = [
            (take.id, take.state, take.piece_id, take.character) for take in studio.takes(limit=2)
        ]
        listener = ListeningState(studio.folder.journal).now()
    except KeysenseError:
        return None
    return _Seen(takes, (listener.wanted, listener.listening, listener.piano))


class Running:
    """The lesson's thread: begun with the pages, told of when trouble ends it, and begun again by a press."""

    def __init__(self, lesson: LessonLike | None, hub: Hub) -> None:
        self._lesson, self._hub = lesson, hub
        self._thread: threading.Thread | None = None

    @property
    def alive(self) -> bool:
        """The lesson is at work."""
        return self._thread is not None and self._thread.is_alive()

    def begin(self) -> None:
        """Begin the lesson, or begin it again after trouble; nothing where there is none or it is at work."""
        if self._lesson is None or self.alive:
            return
        self._hub.trouble = ""
        self._thread = threading.Thread(target=self._run, args=(self._lesson,), name="keysense lesson", daemon=True)
        self._thread.start()

    def end(self) -> None:
        """End the lesson and wait until what it heard is kept."""
        if self._lesson is not None and self._thread is not None:
            self._lesson.stop()
            self._thread.join(timeout=5)

    def _run(self, lesson: LessonLike) -> None:
        """What goes wrong in it is told to the pages instead of ending them."""
        try:
            lesson.run(self._hub.tell)
        except Exception as cause:
            logging.getLogger("keysense.web").exception("the lesson ended")
            self._hub.trouble = str(cause)
            self._hub.tell({"kind": "trouble", "line": self._hub.trouble})
            self._hub.tell({"kind": "piano"})
