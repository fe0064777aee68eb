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


class Day:
    """One day at the piano, beginning at ``start``.

    Each `play` adds a playing and the silence after it; `write` puts the whole day into a journal folder.
    """

    def __init__(self, start: datetime, piano: str = PIANO) -> None:
        self.start = start
        self._now_ns = 0
        self._piano = piano
        self._records = [pack_mark("start", 0, pid=0, again=False), self._wall(), pack_mark("open", 0, piano=piano)]

    def play(self, messages: Iterable[RawMessage], *, cable_out_s: float | None = None) -> None:
        """Add one playing. ``cable_out_s``: the cable comes out so long after it began, and is put back 2 s later."""
        self._records.append(self._wall())
        began_ns = self._now_ns
        out_ns = None if cable_out_s is None else began_ns + round(cable_out_s * 1e9)
        for time_s, raw in messages:
            at_ns = began_ns + round(time_s * 1e9)
            if out_ns is None or at_ns < out_ns:
                self._records.append(pack(Kind.MESSAGE, raw, at_ns))
                self._now_ns = at_ns
        if out_ns is not None:
            self._records.append(pack_mark("lost", out_ns, piano=self._piano))
            self._records.append(pack_mark("back", out_ns + 2_000_000_000, piano=self._piano))
            self._now_ns = out_ns + 2_000_000_000
        self._now_ns += round(_PAUSE_S * 1e9)

    def write(self, folder: Path) -> Path:
        """Write the day's journal into ``folder`` and say where it lies."""
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / f"{self.start.astimezone(UTC):%Y-%m-%d}.journal"
        path.write_bytes(b"".join([*self._records, self._wall(), pack_mark("close", self._now_ns)]))
        return path

    def _wall(self) -> bytes:
        wall_ns = round(self.start.timestamp() * 1e9) + self._now_ns
        return pack(Kind.WALL, struct.pack("<q", wall_ns), self._now_ns)
