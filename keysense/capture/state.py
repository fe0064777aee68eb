"""Whether the piano is listened to: switched by one press, shown at one glance, in two small files.

``switch.json`` says what the teacher wants (listening or not, which piano); ``listener.json`` says what is so, written
by the listener, touched twice a second. Both lie in the studio's journal folder and hold nothing that was played.
"""

from __future__ import annotations

import json
import os
import time
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from keysense.errors import CaptureError
from keysense.files import what_went_wrong

__all__ = ["Listener", "ListeningState", "write_small"]

SWITCH = "switch.json"
LISTENER = "listener.json"
# a listener that has not touched its file for so long is gone
_STALE_S = 3.0
_TOUCH_S = 0.5


@dataclass(frozen=True)
class Listener:
    """What is so at this moment.

    wanted: listening is switched on. running: a listener is at work. connected: it hears a piano. piano: its name, or
    the name of the one that went. since_utc: of the present state, ISO 8601. trouble: one line, or nothing.
    pianos: the names of those that are plugged in. pid: of the listener.
    """

    wanted: bool = False
    running: bool = False
    connected: bool = False
    piano: str = ""
    since_utc: str = ""
    trouble: str = ""
    pianos: tuple[str, ...] = ()
    pid: int = 0

    @property
    def listening(self) -> bool:
        """The piano is there and is being heard: what the page calls Listening."""
        return self.wanted and self.running and self.connected


class ListeningState:
    """The two files of one studio's journal folder. Raises CaptureError where the switch cannot be written."""

    def __init__(self, folder: str | Path) -> None:
        self.folder = Path(folder)

    @property
    def wanted(self) -> bool:
        """Whether listening is switched on; off until someone has switched it on."""
        return bool(self._switch().get("listen", False))

    @property
    def remembered(self) -> str:
        """The name of the piano that was heard last."""
        return str(self._switch().get("piano", ""))

    @property
    def heard_last(self) -> str:
        """The piano of the listener before this one, if that was hearing or missing one when it ended."""
        return str(_read_small(self.folder / LISTENER)[0].get("piano", ""))

    def switch(self, on: bool) -> None:
        """Listening, or Not listening: the listener obeys within half a second."""
        self._write_switch(listen=on)

    def remember(self, piano: str) -> None:
        """Look for this piano first from now on."""
        if piano != self.remembered:
            self._write_switch(piano=piano)

    def now(self) -> Listener:
        """What is so at this moment."""
        told, age_s = _read_small(self.folder / LISTENER)
        running = age_s < _STALE_S and bool(told.get("pid"))
        return Listener(
            wanted=self.wanted,
            running=running,
            connected=running and bool(told.get("connected", False)),
            piano=str(told.get("piano", "")) or self.remembered,
            since_utc=str(told.get("since_utc", "")),
            trouble=str(told.get("trouble", "")),
            pianos=tuple(told.get("pianos", ())) if running else (),
            pid=int(told.get("pid", 0)),
        )

    def _switch(self) -> dict[str, Any]:
        return _read_small(self.folder / SWITCH)[0]

    def _write_switch(self, **changes: object) -> None:
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            write_small(self.folder / SWITCH, {**self._switch(), **changes})
        except OSError as cause:
            raise CaptureError(what_went_wrong(cause, self.folder / SWITCH)) from cause


class Said:
    """The listener's own side of ``listener.json``: written when something changed, touched in between."""

    def __init__(self, folder: Path) -> None:
        self._path = folder / LISTENER
        self._said: dict[str, object] = {}
        self._touched_s = 0.0

    def say(self, **now: object) -> None:
        """Write what is so, if it is not what was said before. A full disk is passed by: the journal tells of it."""
        if now != self._said:
            since = datetime.now(UTC).isoformat(timespec="seconds")
            with suppress(OSError):
                write_small(self._path, {"pid": os.getpid(), "since_utc": since, **now})
                self._said, self._touched_s = now, time.monotonic()
        # also where it could not be written: what was said last may be old, but the listener lives
        if time.monotonic() - self._touched_s > _TOUCH_S:
            with suppress(OSError):
                os.utime(self._path)
                self._touched_s = time.monotonic()

    def over(self) -> None:
        """The listener ends."""
        with suppress(OSError):
            self._path.unlink(missing_ok=True)


def write_small(path: Path, told: dict[str, Any]) -> None:
    """Write a small file so that a reader sees the old or the new one. Raises OSError."""
    # the process number keeps two writers apart; no sync, since nothing here must outlive the machine
    fresh = path.with_name(f".{path.name}.{os.getpid()}")
    fresh.write_text(json.dumps(told), "utf-8")
    for _ in range(20):
        try:
            fresh.replace(path)
            return
        except PermissionError:  # Windows, while another process reads the old one
            time.sleep(0.01)
    fresh.replace(path)


def _read_small(path: Path) -> tuple[dict[str, Any], float]:
    """What a small file says and how old it is (s); nothing and endless where there is none."""
    try:
        told = json.loads(path.read_text("utf-8"))
        age_s = time.time() - path.stat().st_mtime
    except (OSError, ValueError):
        return {}, float("inf")
    return (told if isinstance(told, dict) else {}), age_s
