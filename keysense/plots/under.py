"""What stands under one line of engraved music: the heard lane and the loudness line, aligned to its noteheads."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

import numpy as np

from keysense.plots.frame import Bounds, Frame, HandLine, Wedge
from keysense.plots.lane import Heard, heard_lane
from keysense.plots.loudness import loudness_body
from keysense.plots.marks import NoteMark, note_marks
from keysense.plots.placing import hand_lines, wedges_of, wedges_under
from keysense.plots.svg import Array, picture
from keysense.plots.tempo import Pace, pace_of, pace_picture
from keysense.plots.wished import WishedLine
from keysense.targets.target import Mark, Target, page_id
from keysense.words.catalogue import word

if TYPE_CHECKING:
    from collections.abc import Mapping

    from keysense.findings.reading import Reading

__all__ = ["Drawn", "SystemLike", "bar_edges", "drawn_from", "lane_under", "loudness_under", "pace_under", "runs_of"]

_BEFORE = 30.0  # user units from where a line's first bar is shown to its first notehead
_STRIP, _APART = 150.0, 10.0  # of one hand, and between the two; user units


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
    def bars(self) -> tuple[int, ...]:
        """Numbers of its bars."""

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
    before: tuple[HandLine, ...] = ()
    pace: Pace | None = None
    wished: WishedLine | None = None


def drawn_from(
    reading: Reading, marks: Sequence[Mark] = (), *, before: Reading | None = None, bounds: Bounds | None = None,
    wished: WishedLine | None = None,
) -> Drawn:  # fmt: skip
    """The marks, the threads and the paper of one reading.

    marks: those that were asked for. before: the reading of the same music that was played before, to be seen behind.
    wished: the line drawn before playing. bounds: this piano's softest and loudest, all that MIDI can say where None.
    """
    lines = _lines(reading)
    paper, old = wedges_of(marks, lines), () if before is None else _lines(before)
    return Drawn(reading.target, note_marks(reading), lines, paper, bounds or Bounds(), old, pace_of(reading), wished)


def _lines(reading: Reading) -> tuple[HandLine, ...]:
    return hand_lines(reading.contours, reading.take, reading.target, reading.following)


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
    """The loudness line of one line of music, a strip a hand, each between this piano's softest and loudest.

    The left hand has a strip of its own below: two threads over each other hide one another, and the paper too.
    """
    runs = runs_of(drawn.target, system.bars)
    quarter, x = _anchors(drawn.target, system, runs)
    hands = {line.hand for line in drawn.lines}
    body, top = "", 0.0
    for hand in sorted(hands, reverse=True):
        frame = Frame(
            system.width, _STRIP * scale, lambda q: np.interp(q, quarter, x), tuple(run.span for run in runs),
            bars=system.bar_lines[:-1], thick=19 * scale, dot=3.4 * scale, bounds=drawn.bounds, top=top, mouth=20.0,
            cut=15 * scale,
        )  # fmt: skip
        own = _of(hand, drawn.lines)
        body += loudness_body(own, frame, wedges=wedges_under(own, drawn.wedges), before=_of(hand, drawn.before))
        top += (_STRIP + _APART) * scale
    key = "loudness.title.both" if {"R", "L"} <= hands else "loudness.title"
    title = word(key, first=system.first_bar, last=system.last_bar)
    if drawn.before:
        title = word("shape.title.before", title=title)
    return picture(system.width, top - _APART * scale, body, title)


def _of(hand: str, lines: Sequence[HandLine]) -> list[HandLine]:
    return [line for line in lines if line.hand == hand]


def pace_under(drawn: Drawn, system: SystemLike, scale: float) -> str:
    """The tempo line of one line of music; empty where too little was played to tell one."""
    if drawn.pace is None:
        return ""
    runs = runs_of(drawn.target, system.bars)
    quarter, x = _anchors(drawn.target, system, runs)
    title = word("pace.title", first=system.first_bar, last=system.last_bar)
    return pace_picture(
        drawn.pace, lambda q: np.interp(q, quarter, x), [run.span for run in runs], (system.width, 130 * scale),
        system.bar_lines[:-1], title, scale=scale,
    )  # fmt: skip


@dataclass(frozen=True)
class Run:
    """Bars of one line of music that follow each other in the playing, each the first time it is played."""

    span: tuple[float, float]
    last_bar: int


def runs_of(target: Target, written: Sequence[int]) -> tuple[Run, ...]:
    """The first playing of these written bars, as unbroken runs of quarters: endings part them."""
    runs: list[Run] = []
    seen: set[int] = set()
    for bar in target.bars:
        number, start = int(bar["number"]), float(bar["start_quarter"])
        if number not in written or number in seen:
            continue
        seen.add(number)
        end = start + float(bar["length_quarter"])
        if runs and abs(runs[-1].span[1] - start) < 1e-6:
            runs[-1] = Run((runs[-1].span[0], end), number)
        else:
            runs.append(Run((start, end), number))
    return tuple(runs)


def _anchors(target: Target, system: SystemLike, runs: Sequence[Run]) -> tuple[Array, Array]:
    """Quarters and their x on this line: every notehead of the first time through, and the bar line ending each run."""
    places: dict[float, float] = {}
    for note in target.notes:
        quarter, x = float(note["onset_quarter"]), system.note_x.get(page_id(str(note["id"])))
        if x is None or note["is_grace"] or not any(a - 1e-6 <= quarter < b - 1e-6 for a, b in (r.span for r in runs)):
            continue
        places[quarter] = min(x, places.get(quarter, x))
    for run in runs:
        k = system.bars.index(run.last_bar)
        end = system.bar_lines[k] if k < len(system.bar_lines) else system.width - 22
        places[run.span[1] - 1e-3] = end - 12
    quarters = np.array(sorted(places))
    return quarters, np.maximum.accumulate(np.array([places[quarter] for quarter in quarters.tolist()]))


def bar_edges(system: SystemLike) -> str:
    """Where each bar begins and the last one ends, in hundredths of the line's width: to show bars in the music."""
    ends = [system.bar_lines[k] if k < len(system.bar_lines) else system.width - 22 for k in range(len(system.bars))]
    start = max(0.0, min(system.note_x.values(), default=0.0) - _BEFORE)
    return " ".join(f"{100 * x / system.width:.1f}" for x in (start, *ends))
