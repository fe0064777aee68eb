"""What the piano does, told to every open page: one WebSocket a page, one line of JSON an event.

The lesson runs in a thread of its own and calls `Hub.tell`; nothing here reads, cuts or measures.
"""

from __future__ import annotations

import asyncio
import logging
import threading
from collections.abc import Callable
from typing import Any, NamedTuple, Protocol

from starlette.websockets import WebSocket, WebSocketDisconnect

from keysense.capture.state import ListeningState
from keysense.errors import KeysenseError
from keysense.studio.studio import Studio

__all__ = ["Hub", "LessonLike", "run_lesson", "watch"]

_WATCH_S = 1.0
_WAITING_MOST = 200  # events a page may lie behind before it is told to look afresh


class LessonLike(Protocol):
    """What listens while the pages are open: `run` returns when `stop` was called."""

    def run(self, on_event: Callable[[dict[str, Any]], None]) -> None:
        """Call back for every event until stopped."""

    def stop(self) -> None:
        """End `run`."""


class Hub:
    """Every open page, and the way to them from the lesson's thread; ``trouble`` is what ended the lesson."""

    def __init__(self) -> None:
        self._queues: set[asyncio.Queue[dict[str, Any]]] = set()
        self._loop: asyncio.AbstractEventLoop | None = None
        self.trouble = ""

    def begin(self) -> None:
        """Take hold of the running event loop."""
        self._loop = asyncio.get_running_loop()

    def tell(self, event: dict[str, Any]) -> None:
        """Tell every page; may be called from any thread."""
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._put, _plain(event))

    def _put(self, event: dict[str, Any]) -> None:
        for queue in self._queues:
            if queue.qsize() < _WAITING_MOST:
                queue.put_nowait(event)

    async def endpoint(self, websocket: WebSocket) -> None:
        """One page: sent what happens until it goes away."""
        queue: asyncio.Queue[dict[str, Any]] = asyncio.Queue()
        await websocket.accept()
        self._queues.add(queue)
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


def _plain(event: dict[str, Any]) -> dict[str, Any]:
    """What pages need to know of an event: its kind, its take, its line; never what was played."""
    return {key: event[key] for key in ("kind", "take", "line") if key in event}


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


def run_lesson(lesson: LessonLike, hub: Hub) -> threading.Thread:
    """Start the lesson in a thread; what goes wrong in it is told to the pages instead of ending them."""

    def running() -> None:
        try:
            lesson.run(hub.tell)
        except Exception as cause:
            logging.getLogger("keysense.web").exception("the lesson ended")
            hub.trouble = str(cause)
            hub.tell({"kind": "trouble", "line": hub.trouble})
            hub.tell({"kind": "piano"})

    thread = threading.Thread(target=running, name="keysense lesson", daemon=True)
    thread.start()
    return thread
