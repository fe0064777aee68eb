"""The loudness of each hand, for drawing: a dot a note and a line through them.

Conventions
    As in `keysense.findings.loudness`; the line breaks at phrase ends, at dynamic marks, across rests and between
    passes. It is drawn, not judged.

Findings
    No figure: what the page draws.

References
    None: a drawing. Local lines: Cleveland 1979 (memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.findings.heard import Heard, hand_or_none
from keysense.findings.loudness import one_velocity, stretches
from keysense.units import Hand

__all__ = ["Contour", "contours"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
_AT_ONCE = 128  # points
_NARROWEST = 2.0  # quarters
_REACH = 4.0  # widths; what lies further away weighs next to nothing
_FLAT = 1e-9


@dataclass(frozen=True)
class Contour:
    """The loudness of one hand: a dot a note and a line through them.

    Columns are one a note, in written order: onset_s, onset_quarter, bar, velocity, target_row, line_velocity (the
    line at that note), stretch (number of the unbroken stretch of line it belongs to). hand: "R", "L" or None.
    """

    hand: Hand | None
    onset_s: Floats
    onset_quarter: Floats
    bar: Ints
    velocity: Floats
    target_row: Ints
    line_velocity: Floats
    stretch: Ints


def contours(heard: Heard) -> tuple[Contour, ...]:
    """The loudness of each hand for drawing; none where the piano sends one loudness."""
    if one_velocity(heard):
        return ()
    return tuple(_contour(heard, hand) for hand in heard.hands)


def _contour(heard: Heard, hand: str) -> Contour:
    rows = heard.rows[heard.sounded(hand)]
    quarter, velocity = rows["quarter"].astype(float), rows["velocity"].astype(float)
    stretch = _drawn_stretches(heard, rows)
    return Contour(hand_or_none(hand), rows["onset_s"].copy(), quarter, rows["bar"].copy(), velocity,
                   rows["target"].copy(), _smoothed(quarter, velocity, stretch), stretch)  # fmt: skip


def _drawn_stretches(heard: Heard, rows: npt.NDArray[np.void]) -> Ints:
    """The line breaks at phrase ends, at dynamic marks, across rests and between passes."""
    quarter = rows["quarter"].astype(float)
    if not len(rows):
        return np.zeros(0, np.int64)
    ends = np.maximum.accumulate(quarter + rows["length"])
    rest = quarter[1:] - ends[:-1] > heard.practice.value("drawn_rest")
    change = (np.diff(stretches(heard, quarter)) != 0) | rest | (np.diff(rows["passing"]) != 0)
    return np.concatenate([[0], np.cumsum(change)]).astype(np.int64)


def _smoothed(x: Floats, y: Floats, stretch: Ints) -> Floats:
    """A straight line fitted about each point of its stretch, neighbours within about two quarters weighing most."""
    line = np.empty(len(y))
    first = np.flatnonzero(np.diff(stretch, prepend=-1))
    size = np.diff(first, append=len(y))
    for n in np.unique(size).tolist():  # all stretches of one size at once, the long ones one by one and in parts
        rows = first[size == n][:, None] + np.arange(n)
        if n <= _AT_ONCE:
            line[rows] = _local_lines(x[rows], x[rows], y[rows], _widths(x[rows]))
        else:
            for row in rows:
                line[row] = _in_parts(x[row], y[row])
    return line


def _in_parts(x: Floats, y: Floats) -> Floats:
    line, width = np.empty(len(y)), _widths(x[None, :])
    reach = _REACH * float(width[0])
    for first in range(0, len(x), _AT_ONCE):
        part = slice(first, min(first + _AT_ONCE, len(x)))
        low, high = np.searchsorted(x, (x[first] - reach, x[part.stop - 1] + reach))
        near = slice(low, high + 1)
        line[part] = _local_lines(x[None, part], x[None, near], y[None, near], width)[0]
    return line


def _widths(x: Floats) -> Floats:
    """How wide to look about each point of each stretch, in quarters; 0 where a stretch has fewer than two steps."""
    steps = np.diff(x, axis=1)
    told = np.count_nonzero(steps > 0, axis=1)
    steps = np.sort(np.where(steps > 0, steps, np.inf), axis=1)
    width = np.zeros(len(x))
    for k in np.unique(told[told >= 2]).tolist():
        usual = (steps[:, (k - 1) // 2] + steps[:, k // 2]) / 2
        width = np.where(told == k, np.maximum(_NARROWEST, 1.5 * usual), width)
    return width


def _local_lines(at: Floats, x: Floats, y: Floats, width: Floats) -> Floats:
    """The line at some points of each stretch (a row of each table); the mean where there is no width to look at."""
    offset = x[:, None, :] - at[:, :, None]
    weight = np.exp(-0.5 * (offset / np.where(width > 0, width, 1.0)[:, None, None]) ** 2)
    pulled = weight * offset
    s0, s1, s2 = weight.sum(2), pulled.sum(2), (pulled * offset).sum(2)
    lot, moved = (weight @ y[:, :, None])[:, :, 0], (pulled @ y[:, :, None])[:, :, 0]
    spread = s0 * s2 - s1**2
    straight = np.where(spread > _FLAT, (s2 * lot - s1 * moved) / np.maximum(spread, _FLAT), lot / s0)
    return np.asarray(np.where(width[:, None] > 0, straight, y.mean(axis=1, keepdims=True)))
