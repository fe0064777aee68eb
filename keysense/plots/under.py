"""What stands under one line of engraved music: the heard lane and the loudness line, aligned to its noteheads."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

import numpy as np

from keysense.plots.lane import Heard, heard_lane
from keysense.plots.loudness import Bounds, Frame, HandLine, Wedge, loudness_picture
from keysense.plots.marks import NoteMark, note_marks
from keysense.plots.placing import hand_lines, wedges_of
from keysense.plots.svg import Array
from keysense.targets.target import Mark, Target, page_id
from keysense.words.catalogue import word

if TYPE_CHECKING:
    from collections.abc import Mapping

    from keysense.findings.reading import Reading

__all__ = ["Drawn", "SystemLike", "drawn_from", "lane_under", "loudness_under", "span_of"]


class SystemLike(Protocol):
    """One engraved line of music: x of every notehead by its id, and of the bar lines, in the units of ``width``."""

    @property
    def width(self) -> float:
        """Width in user units."""

    @property
    def note_x(self) -> Mapping[str, float]:
        """The middle of each notehead."""

    @property
    def bar_lines(self) -> tuple[float, ...]:
        """Where the bar lines stand, from left to right."""

    @property
    def first_bar(self) -> int:
        """Number of the first bar."""

    @property
    def last_bar(self) -> int:
        """Number of the last bar."""


@dataclass(frozen=True)
class Drawn:
    """Everything that is drawn of one reading, worked out once for all lines and widths."""

    target: Target
    marks: tuple[NoteMark, ...]
    lines: tuple[HandLine, ...]
    wedges: tuple[Wedge, ...]
    bounds: Bounds = field(default_factory=Bounds)


def drawn_from(reading: Reading, marks: Sequence[Mark] = ()) -> Drawn:
    """The marks, the threads and the paper of one reading; ``marks`` are those that were asked for."""
    lines = hand_lines(reading.contours, reading.take, reading.target, reading.following)
    return Drawn(reading.target, note_marks(reading), lines, wedges_of(marks, lines))


def lane_under(drawn: Drawn, system: SystemLike, scale: float) -> str:
    """The heard lane of one line of music."""
    heard = [
        Heard(mark.name, system.note_x[mark.note_id], mark.hand, mark.title, mark.letter)
        for mark in drawn.marks
        if mark.note_id in system.note_x
    ]
    said = "; ".join(mark.title for mark in heard) or word("lane.as_written")
    title = word("lane.title", first=system.first_bar, last=system.last_bar, said=said)
    return heard_lane(heard, system.width, title, scale=scale)


def loudness_under(drawn: Drawn, system: SystemLike, scale: float) -> str:
    """The loudness line of one line of music, between this piano's softest and loudest."""
    first, last = span_of(drawn.target, system.first_bar, system.last_bar)
    quarter, x = _anchors(drawn.target, system, first, last)
    frame = Frame(
        system.width, 190 * scale, lambda q: np.interp(q, quarter, x), first, last, bars=system.bar_lines[:-1],
        thick=23 * scale, dot=3.4 * scale, bounds=drawn.bounds,
    )  # fmt: skip
    hands = {line.hand for line in drawn.lines}
    key = "loudness.title.both" if {"R", "L"} <= hands else "loudness.title"
    title = word(key, first=system.first_bar, last=system.last_bar)
    return loudness_picture(drawn.lines, frame, title, wedges=drawn.wedges)


def span_of(target: Target, first_bar: int, last_bar: int) -> tuple[float, float]:
    """Where these written bars begin and end in quarters, the first time they are played."""
    numbers: Sequence[int] = target.bars["number"].tolist()
    start = numbers.index(first_bar)
    end = start
    while end + 1 < len(numbers) and numbers[end] < numbers[end + 1] <= last_bar:
        end += 1
    last = target.bars[end]
    return float(target.bars["start_quarter"][start]), float(last["start_quarter"] + last["length_quarter"])


def _anchors(target: Target, system: SystemLike, first: float, last: float) -> tuple[Array, Array]:
    """Quarters and their x on this line: every notehead of the first time through, and the bar line at its end."""
    places: dict[float, float] = {}
    for note in target.notes:
        note_id, quarter = str(note["id"]), float(note["onset_quarter"])
        if note["is_grace"] or not first - 1e-6 <= quarter < last or page_id(note_id) not in system.note_x:
            continue
        x = system.note_x[page_id(note_id)]
        places[quarter] = min(x, places.get(quarter, x))
    places[last] = system.bar_lines[-1] - 12 if system.bar_lines else system.width - 34
    quarters = np.array(sorted(places))
    return quarters, np.maximum.accumulate(np.array([places[quarter] for quarter in quarters.tolist()]))
