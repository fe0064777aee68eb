"""The tempo line: from note to note quicker or slower than this take's own pace, aligned to the notes of the page.

Conventions
    A step's height is the logarithm of the take's own pace over the pace of that step: a third slower is the foot,
    half as fast again the top, never stretched to fill. The faint dots are the steps themselves; the line is each
    step beside its neighbours, so that one late note is a dot alone. It breaks at phrase ends and goings-back.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from keysense.plots.curve import enough, smooth
from keysense.plots.svg import Array, circle, path, picture, points, rounded, text
from keysense.practice import read_practice
from keysense.words.catalogue import word

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from keysense.findings.reading import Reading

__all__ = ["Pace", "pace_of", "pace_picture", "pace_rows", "two_paces"]

_FEWEST = 6  # steps; from fewer there is a pace and no line
_SHORTEST_S = 0.03
_TOP = math.log(1.5)
_TOP_OF_TWO = math.log(2.0)


@dataclass(frozen=True)
class Pace:
    """The steps of a take: where each begins and ends (quarters), its length in s a quarter, the stretch it is of.

    usual_s: the take's own pace, seconds a quarter; None where there are too few steps to tell a line.
    """

    start: Array
    end: Array
    period_s: Array
    stretch: Array
    usual_s: float | None

    @property
    def height(self) -> Array:
        """ln(own pace / step): above 0 is quicker."""
        drawn: Array = np.log((self.usual_s or 1.0) / self.period_s)
        return drawn


def pace_of(reading: Reading) -> Pace:
    """The steps between one written onset and the next, both hands together, as they were played the last time."""
    quarter, onset, passing = _onsets(reading)
    seconds, length, went_back = np.diff(onset), np.diff(quarter), np.diff(passing) != 0
    kept = (seconds >= _SHORTEST_S) & ~went_back
    breaths = [mark.end_quarter for mark in reading.target.marks if mark.kind == "breath"]
    begins = np.unique(np.concatenate([reading.target.phrases[:, 0], breaths]))
    cut = ~kept | (np.diff(np.searchsorted(begins, quarter + 1e-6)) != 0)
    stretch = np.cumsum(np.concatenate([[0.0], cut[:-1]])) if len(cut) else np.zeros(0)
    period = seconds[kept] / length[kept]
    usual = float(np.exp(np.median(np.log(period)))) if len(period) >= _FEWEST else None
    return Pace(quarter[:-1][kept], quarter[1:][kept], period, stretch[kept], usual)


def _onsets(reading: Reading) -> tuple[Array, Array, Array]:
    """Quarter, when it was played (s) and which time through, of every written onset that was played."""
    notes, played = reading.target.notes, reading.take.notes["onset_s"]
    last: dict[float, tuple[int, float]] = {}
    for pair in reading.following.pairs:
        row = int(pair["target"])
        if row < 0 or notes["is_grace"][row]:
            continue
        quarter, this = float(notes["onset_quarter"][row]), (int(pair["passing"]), float(played[pair["played"]]))
        before = last.get(quarter)
        if before is None or this[0] > before[0] or (this[0] == before[0] and this[1] < before[1]):
            last[quarter] = this
    rows = np.array([(quarter, *last[quarter]) for quarter in sorted(last)]).reshape(-1, 3)
    return rows[:, 0], rows[:, 2], rows[:, 1]


def pace_picture(
    pace: Pace, x_of: Callable[[Array], Array], spans: Sequence[tuple[float, float]], size: tuple[float, float],
    bars: Sequence[float], title: str, *, scale: float = 1.0,
) -> str:  # fmt: skip
    """The line of one line of music, ``size`` user units wide and high; empty where there is no line to tell."""
    if pace.usual_s is None:
        return ""
    width, height = size

    def y_of(value: Array) -> Array:
        drawn: Array = height / 2 - (height / 2 - 14 * scale) * np.clip(value / _TOP, -1.0, 1.0)
        return drawn

    body = path("bar", "".join(f"M{rounded(x)} 6V{rounded(height - 6)}" for x in bars))
    body += path("bound", f"M10 {rounded(height / 2)}H{rounded(width - 10)}")
    for first, last in spans:
        here = (pace.start >= first - 1e-6) & (pace.start < last - 1e-6)
        for stretch in np.unique(pace.stretch[here]):
            body += _line(pace, here & (pace.stretch == stretch), x_of, y_of, scale)
    size_px = f"{rounded(24 * scale)}px"
    body += text(12, 20 * scale, word("end.quick"), "q", font_size=size_px)
    body += text(12, height - 6 * scale, word("end.slow"), "q", font_size=size_px)
    return picture(width, height, body, title)


def _line(
    pace: Pace, of: np.ndarray[tuple[int], np.dtype[np.bool_]], x_of: Callable[[Array], Array],
    y_of: Callable[[Array], Array], scale: float,
) -> str:  # fmt: skip
    start, height = pace.start[of], pace.height[of]
    x, y = x_of(start), y_of(_calm(start, height))
    dots = "".join(circle("dot faint", a, b, 3.4 * scale) for a, b in zip(x, y_of(height), strict=True))
    end = float(x_of(pace.end[of][-1:])[0])
    x, y = np.append(x, max(end - 6, x[-1] + 2)), np.append(y, y[-1])
    forward = np.concatenate([[True], np.diff(x) > 1e-6])
    at = np.linspace(x[0], x[-1], max(4, int((x[-1] - x[0]) / 12)))
    return path("line pace", "M" + _few(at, smooth(x[forward], y[forward], at)), stroke_width=5 * scale) + dots


def two_paces(a: Pace, b: Pace, span: tuple[float, float], bars: Sequence[float], title: str) -> str:
    """Both takes on one scale: the middle line is half way between their paces, half as fast the foot, twice the top.

    The first is whole, the second broken into dashes. span: the quarters shown; bars: where bar lines stand. Empty
    where one of them has no line to tell.
    """
    if a.usual_s is None or b.usual_s is None:
        return ""
    middle_s = math.sqrt(a.usual_s * b.usual_s)
    width, height, edge = 1000.0, 150.0, 10.0

    def x_of(quarter: Array) -> Array:
        drawn: Array = edge + (width - 2 * edge) * (np.asarray(quarter, float) - span[0]) / (span[1] - span[0])
        return drawn

    body = path("bar", "".join(f"M{rounded(float(x))} 8V{height - 8:g}" for x in x_of(np.array(bars))))
    body += path("bound", f"M{edge:g} {height / 2:g}H{width - edge:g}")
    for pace, cls in ((a, "line twopaces"), (b, "line b twopaces dashed")):
        lines = []
        for stretch in np.unique(pace.stretch):
            of = pace.stretch == stretch
            raised = _calm(pace.start[of], np.log(middle_s / pace.period_s[of]))
            at = np.append(x_of(pace.start[of]), float(x_of(pace.end[of][-1:])[0]) - 6)
            y = height / 2 - (height / 2 - 14) * np.clip(np.append(raised, raised[-1]) / _TOP_OF_TWO, -1.0, 1.0)
            fine = np.linspace(at[0], max(at[-1], at[0] + 2), max(4, int((at[-1] - at[0]) / 8)))
            lines.append("M" + _few(fine, smooth(at, y, fine)))
        body += path(cls, "".join(lines), stroke_width=6.0)
    return picture(width, height, body, title)


def _few(x: Array, y: Array) -> str:
    few = enough(y)
    return points(x[few], y[few])


def _calm(at: Array, height: Array) -> Array:
    """Each step beside its neighbours: the median of three, then their mean, so that one late note is a dot alone."""
    if len(at) < 3:
        return height
    padded = np.pad(height, 1, mode="edge")
    middle = np.median(np.stack([padded[:-2], padded[1:-1], padded[2:]]), axis=0)
    padded = np.pad(middle, 1, mode="edge")
    drawn: Array = (padded[:-2] + 2 * padded[1:-1] + padded[2:]) / 4
    return drawn


def pace_rows(reading: Reading, pace: Pace) -> list[tuple[str, str, str]]:
    """A row a bar: its number, quarters a minute, and quicker, slower or about the same as this take's own pace."""
    rows, step = [], math.log(1 + read_practice().value("tempo_step") / 100)
    for bar in reading.target.bars:
        first = float(bar["start_quarter"])
        here = (pace.start >= first - 1e-6) & (pace.start < first + float(bar["length_quarter"]) - 1e-6)
        number = str(int(bar["number"]))
        if not here.any() or pace.usual_s is None:
            rows.append((number, word("table.none"), word("table.none")))
            continue
        length = pace.end[here] - pace.start[here]
        period = float((length * pace.period_s[here]).sum() / length.sum())
        moved = math.log(pace.usual_s / period)
        key = "same" if abs(moved) < step else "quicker" if moved > 0 else "slower"
        rows.append((number, str(round(60 / period)), word(f"pace.{key}")))
    return rows
