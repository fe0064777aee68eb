"""How far a figure moves by itself: measurement error, the smallest change that means something, control limits.

Conventions
    Takes of one tune by one player on one day repeat one measurement; what separates them is error, whatever its
    cause. Days may differ from each other for real, so error is read inside days only.

Findings
    sem: within-subject standard deviation, the root of the variances of the days weighed by their degrees of freedom;
        of pairs, SD(difference) / sqrt 2. Chi-square interval. smallest_change(k): 1.96 * sqrt 2 * sem / sqrt k, which
        two occasions of k takes each must differ by in their means before their difference is more than error; in
        their medians by sqrt(pi / 2) times as much, from three takes on.
    Control limits of single values: mean +- 2.66 mean moving ranges; a moving range above 3.268 of its mean stands out.

References
    Bland & Altman 1996, BMJ 313:744 (published, table read): 20 children x 4 peak flows give 21.46, repeatability 59.4.
    Shewhart's chart of single values: 2.66 = 3 / 1.128 and 3.268 (memory). Check (computed): [8 10 9 11 10 9] gives
    5.776, 13.224, 4.575. A median's variance is pi / 2 of a mean's for many normal values (textbook; memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.findings.stats import chi_interval

__all__ = ["Control", "TakeError", "control_limits", "error_of_days", "error_of_pairs", "median_share"]

Floats = npt.NDArray[np.float64]
_MEANS, _RANGES = 2.66, 3.268
_FEWEST_MOVES = 2
_MEDIAN_FROM = 3


@dataclass(frozen=True)
class TakeError:
    """The error of one take's figure, in the unit of the figure.

    sem is None, and ``why`` says why, where too few takes were repeated. df: its degrees of freedom; occasions: days on
    which there was more than one take; n: the takes of those days.
    """

    sem: float | None
    low: float | None
    high: float | None
    df: int
    occasions: int
    n: int
    why: str = ""

    def smallest_change(self, takes: int = 1, *, medians: bool = False) -> float | None:
        """The smallest difference between two occasions of so many takes each that is more than error.

        medians: an occasion counts by the median of its takes instead of by their mean.
        """
        if self.sem is None:
            return None
        return 1.96 * math.sqrt(2) * self.sem * (median_share(takes) if medians else 1 / math.sqrt(takes))


def median_share(takes: int) -> float:
    """The error of the median of so many takes, as a share of one take's; that of two is their mean."""
    return math.sqrt((1 if takes < _MEDIAN_FROM else math.pi / 2) / takes)


@dataclass(frozen=True)
class Control:
    """Limits that single values keep to while nothing but chance moves them. outside: which of the values do not."""

    middle: float
    low: float
    high: float
    range_limit: float
    n: int
    outside: tuple[int, ...] = ()


def error_of_days(days: Sequence[Sequence[float]], *, fewest: int = 5) -> TakeError:
    """The error of a take from the takes of each day.

    fewest: degrees of freedom (takes beyond the first of a day) below which nothing is said.
    """
    repeated = [np.asarray(day, float) for day in days if len(day) > 1]
    n, df = sum(map(len, repeated)), sum(len(day) - 1 for day in repeated)
    if df < fewest:
        why = f"it takes {fewest} takes repeated on the same day to know how far a take moves by itself, and {df} came"
        return TakeError(None, None, None, df, len(repeated), n, why)
    squares = sum(float(((day - day.mean()) ** 2).sum()) for day in repeated)
    return _known(math.sqrt(squares / df), df, len(repeated), n)


def error_of_pairs(first: Sequence[float], second: Sequence[float], *, fewest: int = 5) -> TakeError:
    """The error of a take from pairs played on the same occasion; what second takes have in common is taken out."""
    difference = np.asarray(second, float) - np.asarray(first, float)
    n = len(difference)
    if n - 1 < fewest:
        return TakeError(None, None, None, max(0, n - 1), n, 2 * n, f"it takes {fewest + 1} pairs, and {n} came")
    return _known(float(difference.std(ddof=1)) / math.sqrt(2), n - 1, n, 2 * n)


def _known(sem: float, df: int, occasions: int, n: int) -> TakeError:
    low, high = chi_interval(sem, df)
    return TakeError(sem, low, high, df, occasions, n)


def control_limits(values: Floats) -> Control | None:
    """The control limits of values in order of time; None below three values."""
    moves = np.abs(np.diff(values))
    if len(moves) < _FEWEST_MOVES:
        return None
    middle, move = float(values.mean()), float(moves.mean())
    low, high = middle - _MEANS * move, middle + _MEANS * move
    outside = tuple(int(k) for k in np.flatnonzero((values < low) | (values > high)))
    return Control(middle, low, high, _RANGES * move, len(values), outside)
