"""Medians and slopes by ranks, with exact intervals.

Conventions
    As in `keysense.findings.stats`: plain arrays in, an `Estimate` out.

Findings
    None of its own: estimates that other files use.

References
    Hollander & Wolfe, Nonparametric Statistical Methods: the intervals of Hodges-Lehmann and of Theil-Sen (memory).
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache, lru_cache

import numpy as np
import numpy.typing as npt

from keysense.findings.stats import LEVEL, Estimate, normal_quantile, t_quantile

__all__ = ["median_of", "medians_alike", "theil_sen", "theil_sens"]

Floats = npt.NDArray[np.float64]
_MOST_POINTS = 400


def median_of(values: Floats, level: float = LEVEL) -> Estimate:
    """The median with the exact signed-rank interval, from six values on; Student's interval from three to five.

    The interval holds for spreads that lie alike on both sides of the median, and is widened to hold the median.
    Beyond 400 values the interval is Student's, by then the same.
    """
    return medians_alike(values[None, :], level)[0]


def medians_alike(table: Floats, level: float = LEVEL) -> list[Estimate]:
    """`median_of` of each row of a table (samples, values): all samples of one size at once."""
    m, n = table.shape
    if n == 0:
        return [Estimate(None, None, None, 0)] * m
    ordered = np.sort(table, axis=1)
    middle = (ordered[:, (n - 1) // 2] + ordered[:, n // 2]) / 2
    if n < 3:
        return [Estimate(value, None, None, n) for value in middle.tolist()]
    low, high = _by_student(table, level) if n < 6 or n > _MOST_POINTS else _by_signed_rank(ordered, level)
    ends = zip(middle.tolist(), np.minimum(low, middle).tolist(), np.maximum(high, middle).tolist(), strict=True)
    return [Estimate(value, below, above, n) for value, below, above in ends]


def _by_student(table: Floats, level: float) -> tuple[Floats, Floats]:
    n = table.shape[1]
    mean, half = table.mean(axis=1), t_quantile(n - 1, level) * table.std(axis=1, ddof=1) / math.sqrt(n)
    return mean - half, mean + half


def _by_signed_rank(ordered: Floats, level: float) -> tuple[Floats, Floats]:
    n = ordered.shape[1]
    rows, columns = _pairs_of(n, 0)
    walsh = np.sort((ordered[:, rows] + ordered[:, columns]) / 2, axis=1)
    k = _signed_rank_cut(n, level)
    return walsh[:, k], walsh[:, -1 - k]


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
    return replace(theil_sens(x[None, :], y[None, :], level)[0], n=n)


def theil_sens(x: Floats, y: Floats, level: float = LEVEL) -> list[Estimate]:
    """`theil_sen` of each row of two tables (samples, points): all samples of one size, of 2 to 400 points, at once."""
    n = x.shape[1]
    rows, columns = _pairs_of(n, 1)
    slopes = np.sort((y[:, columns] - y[:, rows]) / (x[:, columns] - x[:, rows]), axis=1)
    pairs = len(rows)
    middle = ((slopes[:, (pairs - 1) // 2] + slopes[:, pairs // 2]) / 2).tolist()
    if n < 5:
        return [Estimate(value, None, None, n) for value in middle]
    k = _kendall_cut(n, level) if n <= 60 else _kendall_cut_by_normal(n, level)
    ends = zip(middle, slopes[:, k].tolist(), slopes[:, -1 - k].tolist(), strict=True)
    return [Estimate(value, low, high, n) for value, low, high in ends]


def _kendall_cut_by_normal(n: int, level: float) -> int:
    spread = math.sqrt(n * (n - 1) * (2 * n + 5) / 18)
    pairs = n * (n - 1) / 2
    return max(0, math.floor((pairs - normal_quantile(0.5 + level / 2) * spread) / 2))


def _binned(x: Floats, y: Floats) -> tuple[Floats, Floats]:
    if len(x) <= _MOST_POINTS:
        return x, y
    groups = np.array_split(np.arange(len(x)), _MOST_POINTS)
    return np.array([x[g].mean() for g in groups]), np.array([y[g].mean() for g in groups])
