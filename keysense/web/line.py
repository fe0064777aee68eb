"""The loudness while it is played, for the pages: off unless the teacher switches it on, and off again by itself.

It reads what the listener has written down, in a thread of its own: the listener does not know of it, and a page that
lags loses a stroke of the line and nothing else.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from keysense.capture.journal import journals, tail_journal
from keysense.capture.records import Kind, Record
from keysense.capture.state import ListeningState
from keysense.errors import KeysenseError
from keysense.studio.studio import Studio

__all__ = ["LiveLine"]

_LOOK_S = 0.004
_UPDATE_S = 0.02  # fifty updates a second
_CHECK_S = 1.0
# The line goes on so long after the last key came up, so that a breath is seen as one.
_AFTER_S = 1.5
# A lesson is over when nothing was played for so long; common practice, no source.
_OVER_S = 1200.0


class LiveLine:
    """Tells what is being played, fifty times a second, from `switch` on until the lesson ends.

    It ends by itself when listening is switched off, when the next pupil is named, or after twenty quiet minutes.
    """

    def __init__(self, studio: Studio, tell: Callable[[dict[str, Any]], None]) -> None:
        self._studio, self._tell = studio, tell
        self._off = threading.Event()
        self._off.set()
        self._thread: threading.Thread | None = None

    @property
    def is_on(self) -> bool:
        """The line is drawn."""
        return not self._off.is_set()

    def switch(self, on: bool) -> None:
        """Draw the line in this lesson, or no more."""
        if on == self.is_on:
            return
        if on:
            self._off.clear()
            ear = _Ear(self._studio.folder.journal)  # here, so that what is played from now on is drawn
            self._thread = threading.Thread(target=self._run, args=(ear,), name="keysense line", daemon=True)
            self._thread.start()
        else:
            self._off.set()
            if self._thread is not None and self._thread is not threading.current_thread():
                self._thread.join(2.0)
        self._tell({"kind": "line_on" if on else "line_off"})

    def _run(self, ear: _Ear) -> None:
        try:
            self._follow(ear, self._studio.context.pupil_id)
        except KeysenseError:
            logging.getLogger("keysense.web").exception("the line ended")
        self.switch(False)

    def _follow(self, ear: _Ear, pupil_id: str | None) -> None:
        checked_s = told_s = played_s = time.monotonic()
        while not self._off.wait(_LOOK_S):
            now_s = time.monotonic()
            keys = ear.keys()
            if keys or ear.down:
                played_s = now_s
            due = now_s - told_s >= _UPDATE_S - _LOOK_S / 2 and now_s - played_s < _AFTER_S and ear.began
            if keys or due:
                told_s = now_s
                self._tell({"kind": "drawn", "now_s": round(time.perf_counter(), 4), "down": ear.down, "keys": keys})
            if now_s - checked_s >= _CHECK_S:
                checked_s = now_s
                ear.next_file()
                if now_s - played_s > _OVER_S or self._over(pupil_id):
                    return

    def _over(self, pupil_id: str | None) -> bool:
        """The lesson is over: nobody listens any more, or another pupil has come."""
        now = self._studio.context.pupil_id
        return not ListeningState(self._studio.folder.journal).wanted or (pupil_id is not None and now != pupil_id)


class _Ear:
    """The newest journal, from the moment at which it is asked for the first time."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._held: set[tuple[int, int]] = set()
        self._path = self._newest()
        self._offset = self._path.stat().st_size if self._path else 0
        self.began = False

    @property
    def down(self) -> int:
        """How many keys are down."""
        return len(self._held)

    def next_file(self) -> None:
        """A new day, or a listener that was started anew, writes another file."""
        newest = self._newest()
        if newest != self._path:
            self._path, self._offset = newest, 0

    def keys(self) -> list[list[float]]:
        """Keys that went down since: seconds of the machine's clock, pitch, velocity."""
        if self._path is None or self._size() <= self._offset:
            return []
        news = tail_journal(self._path, self._offset)
        self._offset = news.end
        return list(self._struck(news.records))

    def _struck(self, records: Iterable[Record]) -> Iterable[list[float]]:
        for record in records:
            if record.kind is Kind.MARK:
                self._held.clear()  # a piano that went can send no key-up
            raw = record.payload
            if record.kind is not Kind.MESSAGE or len(raw) != 3 or raw[0] & 0xE0 != 0x80 or raw[0] & 0x0F == 9:
                continue
            key = (raw[0] & 0x0F, raw[1])
            if raw[0] & 0x10 and raw[2]:
                self._held.add(key)
                self.began = True
                yield [round(record.time_ns * 1e-9, 4), raw[1], raw[2]]
            else:
                self._held.discard(key)

    def _size(self) -> int:
        try:
            return self._path.stat().st_size if self._path else 0
        except OSError:
            return 0

    def _newest(self) -> Path | None:
        found = journals(self._folder)
        return found[-1] if found else None
