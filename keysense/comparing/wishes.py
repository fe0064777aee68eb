"""Where did the playing go the way that was drawn before it?

Conventions
    A drawn line is heights 0..1 at equal distances between two quarters; the phrase line is velocities at quarters.
    Both are looked at bar by bar, and only their moves from one bar to the next: up, down or level. How high a line
    was drawn is no promise, so no distance between the two is ever taken.

Findings
    None with a figure: runs of bars in which both went one way.

References
    Common practice, no source. A move of loudness is one beyond the row ``loudness_step`` of the table of practice, a
    drawn move one beyond the row ``drawn_step``.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import Literal

import numpy as np
import numpy.typing as npt

__all__ = ["Agreement", "drawn_in_bars", "went_your_way"]

Floats = npt.NDArray[np.float64]
Way = Literal["up", "down", "level"]


@dataclass(frozen=True)
class Agreement:
    """A run of bars, first and last counted, in which both lines went one way."""

    way: Way
    first_bar: int
    last_bar: int


def drawn_in_bars(heights: Floats, span: tuple[float, float], bars: npt.NDArray[np.void]) -> Floats:
    """The mean height (0..1) of a drawn line in each `BAR` row, NaN in bars it does not reach."""
    at = np.linspace(span[0], span[1], len(heights))
    means = np.full(len(bars), np.nan)
    for row, bar in enumerate(bars):
        first, last = float(bar["start_quarter"]), float(bar["start_quarter"] + bar["length_quarter"])
        if first >= span[0] - 1e-6 and last <= span[1] + 1e-6:
            means[row] = float(np.interp(np.linspace(first, last, 9), at, heights).mean())
    return means


def went_your_way(
    drawn: Floats, played: Floats, numbers: npt.NDArray[np.int64], *, step_velocity: float, drawn_step: float
) -> list[Agreement]:
    """Runs of bars in which both moved alike, in the order of the music.

    drawn: heights a bar; played: velocities a bar; NaN where there is none. numbers: written bar numbers.
    step_velocity, drawn_step: by no more than so much from bar to bar what was played, and what was drawn, stays
    level. A level run counts only where it is all that was drawn: a level stretch beside a hill is no wish of its own.
    """
    moves = [
        _way(float(d), drawn_step) if _way(float(d), drawn_step) == _way(float(p), step_velocity) else None
        for d, p in zip(np.diff(drawn), np.diff(played), strict=True)
    ]
    wanted = {_way(float(d), drawn_step) for d in np.diff(drawn) if np.isfinite(d)}
    runs: list[Agreement] = []
    row = 0
    for way, group in groupby(moves):
        length = len(list(group))
        if way is not None and (way != "level" or wanted == {"level"}):
            runs.append(Agreement(way, int(numbers[row]), int(numbers[row + length])))
        row += length
    return runs


def _way(move: float, step: float) -> Way | None:
    if not np.isfinite(move):
        return None
    return "up" if move > step else "down" if move < -step else "level"
