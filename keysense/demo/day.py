"""A day's listening, written into the journal as the listener would have written it.

Only the piano and the clock are invented: the records, and everything that happens to them later, are the real ones.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path

from keysense.capture.records import Kind, pack, pack_mark
from keysense.demo.performer import RawMessage

__all__ = ["PIANO", "Day"]

PIANO = "Bridge Upright"
_PAUSE_S = 6.0  # longer than the silence that ends a take
_CABLE_BACK_S = 2.0


class Day:
    """One day at the piano, beginning at ``start``, in a journal of its own in ``folder``; each `play` adds to it."""

    def __init__(self, folder: Path, start: datetime, piano: str = PIANO) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self.path = folder / f"{start.astimezone(UTC):%Y-%m-%d}.journal"
        self._start = start
        self._now_ns = 0
        self._piano = piano
        self._append(pack_mark("start", 0, pid=0, again=False), self._wall(), pack_mark("open", 0, piano=piano))

    def play(self, messages: Iterable[RawMessage], *, cable_out_s: float | None = None) -> None:
        """Add one playing and the silence after it. ``cable_out_s``: so long after it began the cable comes out."""
        began_ns = self._now_ns
        out_ns = None if cable_out_s is None else began_ns + round(cable_out_s * 1e9)
        timed = [(began_ns + round(time_s * 1e9), raw) for time_s, raw in messages]
        heard = [(at_ns, raw) for at_ns, raw in timed if out_ns is None or at_ns < out_ns]
        self._append(self._wall(), *(pack(Kind.MESSAGE, raw, at_ns) for at_ns, raw in heard))
        self._now_ns = max([began_ns, *(at_ns for at_ns, _ in heard)])
        if out_ns is not None:
            back_ns = out_ns + round(_CABLE_BACK_S * 1e9)
            self._append(pack_mark("lost", out_ns, piano=self._piano), pack_mark("back", back_ns, piano=self._piano))
            self._now_ns = back_ns
        self._now_ns += round(_PAUSE_S * 1e9)
        self._append(self._wall())

    def _append(self, *records: bytes) -> None:
        with self.path.open("ab") as journal:
            journal.write(b"".join(records))

    def _wall(self) -> bytes:
        wall_ns = round(self._start.timestamp() * 1e9) + self._now_ns
        return pack(Kind.WALL, struct.pack("<q", wall_ns), self._now_ns)
