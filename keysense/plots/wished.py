"""A line drawn before playing, as paper: alone in its field, and behind the thread that was played after it.

Conventions
    Heights are shares of the way from this piano's softest (0) to its loudest (1), at equal distances along the tune.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from keysense.plots.curve import smooth
from keysense.plots.svg import Array, circle, path, picture, points, rounded, text
from keysense.plots.thread import ribbon
from keysense.targets.target import Target
from keysense.words.catalogue import word

__all__ = ["NARROW", "WIDE", "Field", "WishedLine", "bar_places", "drawing_field", "wished_band"]

_TOP = 34.0
_PLACES_A_BAR = 2


@dataclass(frozen=True)
class Field:
    """A field to draw in: its size, the room for words at its left, how thick its paper is and how large its words."""

    width: float
    height: float
    edge: float
    thick: float
    words: float


WIDE, NARROW = Field(1000, 320, 84, 30, 30), Field(520, 380, 80, 34, 30)


@dataclass(frozen=True)
class WishedLine:
    """The drawn line: its heights (0..1), from which quarter to which."""

    heights: tuple[float, ...]
    span: tuple[float, float]

    def velocity(self, at: Array, soft: float, loud: float) -> Array:
        """The drawn height at some quarters, as the touch it stands for on a piano of these bounds."""
        places = np.linspace(self.span[0], self.span[1], len(self.heights))
        drawn: Array = soft + (loud - soft) * np.clip(smooth(places, np.array(self.heights), at), 0.0, 1.0)
        return drawn


def wished_band(x: Array, y: Array, thick: float) -> str:
    """The line as a strip of paper, with a dashed line along its middle: the hand that drew it."""
    if len(x) < 2 or x[-1] - x[0] < 1.0:
        return ""
    return ribbon(x, y, np.full(len(x), thick), cls="paper", twist=False) + path("drawnline", "M" + points(x, y))


def bar_places(target: Target, rows: slice) -> list[tuple[int, str]]:
    """The places of a field: the bar's number, and which half of it, two a bar."""
    return [(int(bar["number"]), half) for bar in target.bars[rows] for half in ("first", "second")[:_PLACES_A_BAR]]


def drawing_field(target: Target, rows: slice, heights: Sequence[float], title: str, field: Field = WIDE) -> str:
    """The field to draw in: soft and loud, bar lines, where the notes are, and the line as it stands.

    A script finds its measures as ``data-`` attributes of the group ``drawn``.
    """
    bars = target.bars[rows]
    first = float(bars["start_quarter"][0])
    last = float(bars["start_quarter"][-1] + bars["length_quarter"][-1])
    left, right, foot = field.edge, field.width - 10, field.height - _TOP

    def x_of(quarter: Array | float) -> Array:
        drawn: Array = left + (right - left) * (np.asarray(quarter, float) - first) / (last - first)
        return drawn

    body = path("bound", f"M{left:g} {_TOP:g}H{right:g}M{left:g} {foot:g}H{right:g}")
    starts = x_of(bars["start_quarter"])
    body += path("bar", "".join(f"M{rounded(x)} {_TOP:g}V{foot:g}" for x in starts))
    size = f"{0.75 * field.words:g}px"
    numbers = zip(starts, bars["number"], strict=True)
    body += "".join(text(x + 6, field.height - 4, str(int(n)), "q", font_size=size) for x, n in numbers)
    body += "".join(circle("dot faint", x, foot, 4) for x in x_of(_onsets(target, first, last)))
    for y, key in ((_TOP, "end.loud"), (foot, "end.soft")):
        body += text(12, y + 0.3 * field.words, word(key), "s", font_size=f"{field.words:g}px")
    return picture(field.width, field.height, body + _drawn(heights, field), title)


def _onsets(target: Target, first: float, last: float) -> Array:
    """Where the tune has notes: the right hand, or all where there is none."""
    onset = target.notes["onset_quarter"]
    notes = target.notes[(onset >= first - 1e-6) & (onset < last - 1e-6)]
    right = notes[notes["hand"] == "R"]
    quarters: Array = np.unique((right if len(right) else notes)["onset_quarter"])
    return quarters


def _drawn(heights: Sequence[float], field: Field) -> str:
    measures = f'data-left="{field.edge:g}" data-right="{field.width - 10:g}" data-top="{_TOP:g}"'
    measures += f' data-foot="{field.height - _TOP:g}" data-thick="{field.thick:g}"'
    band = ""
    if len(heights) > 1:
        x = np.linspace(field.edge, field.width - 10, len(heights))
        y = field.height - _TOP - (field.height - 2 * _TOP) * np.asarray(heights, float)
        at = np.linspace(x[0], x[-1], 120)
        band = wished_band(at, smooth(x, y, at), field.thick)
    return f'<g class="drawn" {measures}>{band}</g>'
