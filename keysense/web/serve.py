"""Serving the pages on this machine: the port is taken first, so that a busy one is one plain line and no traceback."""

from __future__ import annotations

import signal
import socket
import threading
import webbrowser
from collections.abc import Callable
from importlib import import_module
from types import FrameType

from keysense import compiling
from keysense.errors import ServeError
from keysense.studio.studio import Studio
from keysense.web.live import LessonLike

__all__ = ["open_door", "serve"]

_ENGRAVER_S = 1.5  # after which the engraver is fetched: it takes as long as two pages


def serve(
    studio: Studio,
    host: str = "127.0.0.1",
    port: int = 8765,
    open_browser: bool = True,
    *,
    lesson: LessonLike | None = None,
    listen: bool = True,
    path: str = "/",
    door: socket.socket | None = None,
    say: Callable[[str], None] = print,
) -> None:
    """Serve until interrupted; port 0 takes any free one.

    lesson: what listens meanwhile; without one a `keysense.listening.Lesson` does, unless ``listen`` is False. path:
    the page that the browser opens on. door: one that `open_door` gave, in place of host and port; it is closed in the
    end. Raises ServeError where the port is in use.
    """
    import uvicorn

    from keysense.web.app import create_app

    door = open_door(host, port) if door is None else door
    where = f"http://{host}:{door.getsockname()[1]}{path}"
    if lesson is None and listen:
        lesson = _lesson(studio)
    config = uvicorn.Config(
        create_app(studio, lesson), log_level="warning", access_log=False, lifespan="on", timeout_graceful_shutdown=2
    )
    say(f"the pages are at {where} (Ctrl-C ends)")
    compiling.quietly()
    engraver = threading.Timer(_ENGRAVER_S, import_module, ("keysense.engraving",))  # so that the first take need not
    engraver.daemon = True
    engraver.start()
    if open_browser:
        threading.Timer(0.5, webbrowser.open, (where,)).start()

    class Server(uvicorn.Server):
        """Ends at a signal without raising it again, so that Ctrl-C is an ordinary end and leaves no traceback."""

        def handle_exit(self, sig: int, frame: FrameType | None) -> None:
            self.force_exit = self.should_exit and sig == signal.SIGINT
            self.should_exit = True

    try:
        Server(config).run(sockets=[door])
    finally:
        door.close()


def _lesson(studio: Studio) -> LessonLike:
    from keysense.listening import Lesson

    return Lesson(studio)


def open_door(host: str, port: int, command: str = "keysense serve") -> socket.socket:
    """A bound socket; raises ServeError, which says how to call ``command`` again, where the port cannot be had."""
    door = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET)
    if hasattr(socket, "SO_EXCLUSIVEADDRUSE"):  # Windows would share a port that is in use
        door.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
    else:
        door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        door.bind((host, port))
    except OSError as cause:
        door.close()
        raise ServeError(
            f"port {port} on {host} cannot be used ({cause.strerror}): is keysense open already? "
            f"try {command} --port {port + 1 if 0 < port < 65535 else 8766}"
        ) from cause
    return door
