"""From the journal to finished playings, while it grows and after a crash. Knows files and clocks, but no studio."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from keysense.capture.cutting import Cutter, Span, begins_ns, cut
from keysense.capture.journal import journals, read_journal, tail_journal
from keysense.capture.records import Kind, Record
from keysense.capture.state import write_small
from keysense.errors import JournalError
from keysense.files import what_went_wrong

__all__ = ["Playing", "Tail", "place_in"]

PROGRESS = "progress.json"
_A_DAY_S = 86_400.0
_SLACK_NS = 1_000_000  # a take's times are rounded to 0.05 ms


@dataclass(frozen=True)
class Playing:
    """A finished playing, the journal it lies in, and the piano it came from."""

    journal: str
    span: Span
    piano: str = ""


class Tail:
    """Follows the journals of a folder from the place that `done` noted last.

    silence_s: as for `Cutter`. Raises JournalError where a journal cannot be read or the place not noted.
    """

    def __init__(self, folder: str | Path, silence_s: Callable[[int], float]) -> None:
        self.folder = Path(folder)
        self._cutter = Cutter(silence_s)
        self._piano = ""
        self._file, self._offset = self._last_noted = self._noted()

    @property
    def idle(self) -> bool:
        """Nothing is being played."""
        return self._cutter.idle

    def read(self, on_record: Callable[[Record], None] | None = None) -> Iterator[Playing]:
        """The playings that what was appended since the last call has ended. ``on_record`` sees each new record."""
        for path in journals(self.folder):
            if path.name < self._file:
                continue
            if path.name > self._file:
                # no playing reaches from one file into the next: the listener rolls over only in silence
                yield from self._told(self._cutter.finish("gap"))
                self._file, self._offset = path.name, 0
            news = tail_journal(path, self._offset)
            for record in news.records:
                yield from self._told(self._cutter.feed(record))
                if record.kind is Kind.MARK and record.mark in ("open", "back"):
                    self._piano = str(record.said().get("piano", ""))
                if on_record:
                    on_record(record)
            self._offset = news.end

    def advance(self, now_ns: int) -> Iterator[Playing]:
        """The playing that has come to an end by ``now_ns`` of the machine's clock, nothing new having come."""
        yield from self._told(self._cutter.advance(now_ns))

    def finish(self, flag: str = "") -> Iterator[Playing]:
        """End what is open."""
        yield from self._told(self._cutter.finish(flag))

    def done(self) -> None:
        """Note that all up to here is kept, so that the next start goes on from here."""
        here = (self._file, self._offset)
        if not self._cutter.idle or here == self._last_noted:
            return
        try:
            write_small(self.folder / PROGRESS, {"file": self._file, "offset": self._offset})
        except OSError as cause:
            raise JournalError(what_went_wrong(cause, self.folder / PROGRESS)) from cause
        self._last_noted = here

    def _told(self, spans: list[Span]) -> Iterator[Playing]:
        for span in spans:
            yield Playing(self._file, span, self._piano)

    def _noted(self) -> tuple[str, int]:
        try:
            told = json.loads((self.folder / PROGRESS).read_text("utf-8"))
            return str(told["file"]), int(told["offset"])
        except (OSError, ValueError, KeyError, TypeError):
            return "", 0

    def catch_up(self) -> None:
        """Read what stands before the noted place for its clocks and the piano's name; cut nothing there."""
        path = self.folder / self._file
        if not self._file or not path.exists():
            return
        for record in read_journal(path).records:
            if record.start >= self._offset:
                break
            if record.kind is Kind.WALL:
                self._cutter.feed(record)
            elif record.kind is Kind.MARK and record.mark in ("open", "back"):
                self._piano = str(record.said().get("piano", ""))


def place_in(path: Path, start: int, end: int, at_s: float) -> int | None:
    """The byte at which the first record stands that came ``at_s`` or later in the take of bytes ``start`` to ``end``.

    at_s: seconds as the take counts them. None where the listening is not there any more, or nothing came so late.
    """
    if not path.exists():
        return None
    records = [record for record in read_journal(path).records if start <= record.start < end]
    spans = cut(records, silence_s=_A_DAY_S, held_limit_s=_A_DAY_S)
    if not spans:
        return None
    at_ns = begins_ns(spans[0]) + round(at_s * 1e9) - _SLACK_NS
    return next((r.start for r in records if r.kind is Kind.MESSAGE and r.time_ns >= at_ns), None)
