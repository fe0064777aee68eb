"""Medians and slopes by ranks, with exact intervals.

Conventions
    As in `keysense.findings.stats`: plain arrays in, an `Estimate` out.

References
    Hollander & Wolfe, Nonparametric Statistical Methods: the intervals of Hodges-Lehmann and of Theil-Sen (memory).
"""

from __future__ import annotations

import math
from functools import cache, lru_cache

import numpy as np
import numpy.typing as npt

from keysense.findings.stats import LEVEL, Estimate, mean_of

__all__ = ["median_of", "middle_of", "theil_sen"]

Floats = npt.NDArray[np.float64]
_MOST_POINTS = 400


def middle_of(ordered: Floats) -> float:
    """The median of values in order; in a third of the time of numpy's, which counts where thousands are wanted."""
    return float(ordered[(len(ordered) - 1) // 2] + ordered[len(ordered) // 2]) / 2


def median_of(values: Floats, level: float = LEVEL) -> Estimate:
    """The median with the exact signed-rank interval, from six values on; Student's interval from three to five.

    The interval holds for spreads that lie alike on both sides of the median, and is widened to hold the median.
    Beyond 400 values the interval is Student's, by then the same.
    """
    n = len(values)
    if n == 0:
        return Estimate(None, None, None, 0)
    middle = middle_of(np.sort(values))
    if n < 3:
        return Estimate(middle, None, None, n)
    if n < 6 or n > _MOST_POINTS:
        _, low, high = mean_of(values, level).whole()
        return Estimate(middle, min(low, middle), max(high, middle), n)
    rows, columns = _pairs_of(n, 0)
    walsh = np.sort((values[rows] + values[columns]) / 2)
    k = _signed_rank_cut(n, level)
    return Estimate(middle, min(float(walsh[k]), middle), max(float(walsh[-1 - k]), middle), n)


@lru_cache(64)
def _pairs_of(n: int, apart: int) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Rows and columns of all pairs of n points, with themselves (apart 0) or not (1)."""
    return np.triu_indices(n, apart)


@cache
def _signed_rank_cut(n: int, level: float) -> int:
    """How many Walsh averages lie outside the interval on each side."""
    counts = np.ones(1)
    for rank in range(1, n + 1):
        grown = np.zeros(len(counts) + rank)
        grown[: len(counts)] += counts
        grown[rank:] += counts
        counts = grown / 2
    return _cut(np.cumsum(counts), level)


@cache
def _kendall_cut(n: int, level: float) -> int:
    """How many pair slopes lie outside the interval on each side, from the exact law of the number of inversions."""
    counts = np.ones(1)
    for size in range(2, n + 1):
        counts = np.convolve(counts, np.ones(size)) / size
    return _cut(np.cumsum(counts), level)


def _cut(cumulated: Floats, level: float) -> int:
    tail = (1 - level) / 2
    return max(0, int(np.searchsorted(cumulated, tail * (1 + 1e-12), side="right")) - 1)


def theil_sen(x: Floats, y: Floats, level: float = LEVEL) -> Estimate:
    """The median slope of y over x with its exact rank interval; x without ties (average ties first).

    No interval below five points: none of 95 % exists. Beyond 400 points neighbours are averaged to 400.
    """
    n = len(x)
    if n < 2:
        return Estimate(None, None, None, n)
    x, y = _binned(x, y)
    rows, columns = _pairs_of(len(x), 1)
    slopes = np.sort((y[columns] - y[rows]) / (x[columns] - x[rows]))
    value = middle_of(slopes)
    if n < 5:
        return Estimate(value, None, None, n)
    k = _kendall_cut(len(x), level) if len(x) <= 60 else _kendall_cut_by_normal(len(x), level)
    return Estimate(value, float(slopes[k]), float(slopes[-1 - k]), n)


def _kendall_cut_by_normal(n: int, level: float) -> int:
    from scipy.special import ndtri

    spread = math.sqrt(n * (n - 1) * (2 * n + 5) / 18)
    pairs = n * (n - 1) / 2
    return max(0, math.floor((pairs - float(ndtri(0.5 + level / 2)) * spread) / 2))


def _binned(x: Floats, y: Floats) -> tuple[Floats, Floats]:
    if len(x) <= _MOST_POINTS:
        return x, y
    groups = np.array_split(np.arange(len(x)), _MOST_POINTS)
    return np.array([x[g].mean() for g in groups]), np.array([y[g].mean() for g in groups])
