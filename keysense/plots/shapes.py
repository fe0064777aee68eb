"""The shape of a take on a page of its own, and two takes beside each other: the same quarters, the same height."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from keysense.plots.frame import Frame
from keysense.plots.loudness import leading, loudness_picture
from keysense.plots.placing import wedges_under
from keysense.plots.svg import Array, picture
from keysense.plots.thread import ribbon, snipped
from keysense.plots.told import shape_said
from keysense.plots.under import Drawn
from keysense.words.catalogue import word

__all__ = [
    "ALONE",
    "BESIDE",
    "UPRIGHT",
    "UPRIGHT_BESIDE",
    "Room",
    "bars_on_a_line",
    "beside_picture",
    "length_threads",
    "shape_lines",
]


@dataclass(frozen=True)
class _Line:
    first: float
    last: float


@dataclass(frozen=True)
class Room:
    """How large a shape is drawn, in user units. left: where its lines begin; thick, size: thread and words.

    aside: its two words end before its lines begin, as names do before the music; else they begin at its left.
    """

    width: float
    height: float
    left: float
    thick: float
    size: float
    bars_a_line: int
    aside: bool = False


ALONE, BESIDE = Room(1600, 440, 150, 66, 46, 8), Room(1600, 344, 280, 60, 40, 8, aside=True)
UPRIGHT, UPRIGHT_BESIDE = Room(800, 400, 150, 64, 48, 4), Room(800, 300, 130, 56, 42, 4)


def shape_lines(drawn: Drawn, title: str, room: Room = ALONE) -> list[str]:
    """Large, readable across a room; each line of it is as wide as the longest needs."""
    rows, lines = _lines(drawn, room.bars_a_line), leading(drawn.lines)
    longest = max(line.last - line.first for line in rows)
    pictures = []
    for number, line in enumerate(rows):

        def x_of(quarter: Array, line: _Line = line) -> Array:
            return room.left + (room.width - room.left - 40) * (quarter - line.first) / longest

        frame = Frame(
            room.width, room.height, x_of, ((line.first, line.last),), left=room.left, right=0, thick=room.thick,
            thin=room.thick * 0.3, dot=6, words=(word("end.loud"), word("end.soft"), room.size), bounds=drawn.bounds,
            words_end=room.left - 24 if room.aside else None,
        )  # fmt: skip
        said = _titled(drawn, title, line)
        if len(rows) > 1:
            said = word("shape.line", title=said, number=number + 1, of=len(rows))
        if drawn.before:
            said = word("shape.title.before", title=said)
        if drawn.wished:
            said = word("draw.shape", title=said)
        pictures.append(
            loudness_picture(
                lines, frame, said, wedges=wedges_under(lines, drawn.wedges), before=leading(drawn.before),
                wished=drawn.wished,
            )
        )  # fmt: skip
    return pictures


def beside_picture(drawn: Drawn, title: str, *, narrow: bool, cls: str = "") -> str:
    """One of two takes: both pictures have the same bar lines and the same height, so that eyes may compare."""
    width, height, left = (440.0, 130.0, 4.0) if narrow else (1000.0, 170.0, 10.0)
    bars = drawn.target.bars
    first, last = float(bars["start_quarter"][0]), float(bars["start_quarter"][-1] + bars["length_quarter"][-1])

    def x_of(quarter: Array) -> Array:
        return left + (width - 2 * left) * (quarter - first) / (last - first)

    frame = Frame(
        width, height, x_of, ((first, last),), bars=x_of(bars["start_quarter"][1:]).tolist(), left=left, right=left,
        thick=22 if narrow else 30, thin=4, dot=2.2 if narrow else 3, bounds=drawn.bounds,
    )  # fmt: skip
    title = _titled(drawn, title, _Line(first, last))
    lines = leading(drawn.lines)
    return loudness_picture(lines, frame, title, wedges=wedges_under(lines, drawn.wedges), cls=cls)


def _titled(drawn: Drawn, title: str, line: _Line) -> str:
    """A title that says what is seen: the shape of the line, and the paper where there is some."""
    heard = shape_said(drawn, line.first, line.last)
    title = word("shape.title.heard", title=title, heard=heard) if heard else title
    return word("shape.title.paper", title=title) if drawn.wedges else title


@lru_cache(maxsize=64)
def length_threads(first_s: float, second_s: float, title: str) -> str:
    """How long each took: two threads of true length, the second snipped."""
    longest = max(first_s, second_s, 0.1)
    ends = [12 + 960 * seconds / longest for seconds in (first_s, second_s)]
    width = np.array([8.0, 8.0])
    body = ribbon(np.array([12.0, max(ends[0], 20.0)]), np.array([11.0, 11.0]), width)
    for x in np.arange(12.0, ends[1] - 4, 15.3):
        body += snipped(np.array([x, min(x + 9, ends[1])]), np.array([35.0, 35.0]), width, cls="thread b", step=4)
    return picture(1000, 46, body, title)


def bars_on_a_line(bars: int, most: int) -> int:
    """So many bars a line, or fewer where the last line would hold less than half of that."""
    left = bars % most
    return most if bars < most or left == 0 or 2 * left >= most else -(-bars // -(-bars // most))


def _lines(drawn: Drawn, bars_a_line: int) -> list[_Line]:
    bars = drawn.target.bars
    lines, most = [], bars_on_a_line(len(bars), bars_a_line)
    for start in range(0, len(bars), most):
        rows = bars[start : start + most]
        lines.append(
            _Line(float(rows["start_quarter"][0]), float(rows["start_quarter"][-1] + rows["length_quarter"][-1]))
        )
    return lines or [_Line(0.0, 4.0)]
