"""Rows that many questions make alike: a median with its interval, or the words for why there is none.

Conventions
    An interval in ms is widened by the step of the piano's clock.

Findings
    None of its own: rows that other files make.

References
    Interval of the sign test: Hollander & Wolfe (memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Heard
from keysense.findings.ranks import median_of
from keysense.findings.stats import Estimate, middle_of, t_quantile
from keysense.notes import Take
from keysense.practice import Practice
from keysense.units import Unit

__all__ = ["FEWEST_BY_SIGN", "Groups", "bounded", "clock_step_s", "grouped", "means_apart", "median_by_sign",
           "median_row", "onset_groups", "place_of", "struck_at_once"]  # fmt: skip

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
FEWEST_BY_SIGN = 6  # from fewer no exact interval of 95 % exists
_CLOCK_STEPS_S = (0.02, 0.016, 0.015625, 0.01, 0.008, 0.005)
_CLOCK_NEAR_S = 0.0003  # files keep times to a tenth of this
_FEWEST_FOR_CLOCK = 20
_BOUNDED_BY = {"evenness_timing_robust": "evenness_timing", "drift_section": "drift"}
_LIMITS_OF_THEIR_OWN = ("rise", "overlap_ratio", "hold_ratio")  # by what the page asks there
_EITHER_WAY = 0.5  # how often a value lies above the median


def median_row(
    heard: Heard, name: str, unit: Unit, values: Floats, place: Place, *, what: str, needed: int = 3,
    lopsided: bool = False,
) -> Finding:  # fmt: skip
    """The median of some values with its interval and the limit of the table; missing from fewer than are needed.

    lopsided: the values lie unlike on the two sides of their median, so the interval is that of the sign test.
    """
    n, needed = len(values), max(needed, FEWEST_BY_SIGN) if lopsided else needed
    if n < needed:
        return Finding.missing(name, unit, f"it takes {needed} {what}, and {n} came", n=n, place=place)
    e = median_by_sign(values) if lopsided else median_of(values)
    _, low, high = e.whole()
    wider = 500 * heard.once("clock step", lambda: clock_step_s(heard.take)) if unit == "ms" else 0.0
    return Finding(name, e.value, unit, n, low - wider, high + wider, heard.practice.limit(name), place)


def bounded(finding: Finding, practice: Practice) -> Finding:
    """A missing figure with the limit that would have bounded it, so that its verdict is "missing"."""
    if finding.value is not None or finding.limit is not None or finding.name in _LIMITS_OF_THEIR_OWN:
        return finding
    limit = practice.limit(_BOUNDED_BY.get(finding.name, finding.name))
    return finding if limit is None else replace(finding, limit=limit)


def clock_step_s(take: Take) -> float:
    """The step of the piano's clock where all key downs lie on one of 5 ms or more, else 0.

    Two key downs nearer than a step are not told apart, so an interval in ms is widened by half a step on each side.
    """
    if len(take) < _FEWEST_FOR_CLOCK:
        return 0.0
    since = take.notes["onset_s"] - take.notes["onset_s"].min()
    for step in _CLOCK_STEPS_S:
        if np.all(np.abs(since - step * np.round(since / step)) < _CLOCK_NEAR_S):
            return step
    return 0.0


def median_by_sign(values: Floats, level: float = 0.95) -> Estimate:
    """The median with the exact interval of the sign test, whatever the shape; none below six values."""
    n = len(values)
    if n == 0:
        return Estimate(None, None, None, 0)
    ordered = np.sort(values)
    middle = middle_of(ordered)
    if n < FEWEST_BY_SIGN:
        return Estimate(middle, None, None, n)
    k = _sign_cut(n, level)
    return Estimate(middle, float(ordered[k]), float(ordered[-1 - k]), n)


@cache
def _sign_cut(n: int, level: float) -> int:
    """How many values lie outside the interval on each side."""
    from scipy.special import bdtr

    k = 0
    while bdtr(k, n, _EITHER_WAY) <= (1 - level) / 2:
        k += 1
    return k - 1


def means_apart(a: Floats, onset_a: Floats, b: Floats, onset_b: Floats) -> Estimate:
    """Mean of b minus mean of a, Welch's interval; keys of one onset are struck by one arm, and err together."""
    if min(len(np.unique(onset)) for onset in (onset_a, onset_b)) < 2:
        return Estimate(None, None, None, len(a) + len(b))
    (var_a, df_a), (var_b, df_b) = (_error_together(*side) for side in ((a, onset_a), (b, onset_b)))
    value, se = float(b.mean() - a.mean()), math.sqrt(var_a + var_b)
    df = (var_a + var_b) ** 2 / (var_a**2 / df_a + var_b**2 / df_b) if se > 0 else df_a + df_b
    half = t_quantile(df) * se
    return Estimate(value, value - half, value + half, len(a) + len(b), se, df)


def _error_together(values: Floats, onset: Floats) -> tuple[float, int]:
    """The variance of the mean of some values, and its degrees of freedom, those of one onset taken together."""
    _, group = np.unique(onset, return_inverse=True)
    off = np.bincount(group, values - values.mean())
    return float(off @ off) / len(values) ** 2 * len(off) / (len(off) - 1), len(off) - 1


@dataclass(frozen=True, eq=False)
class Groups:
    """Rows that belong together: ``rows``, group after group, and where each group starts in them."""

    rows: Ints
    start: Ints

    @property
    def counts(self) -> Ints:
        """How many rows each group has."""
        return np.diff(self.start, append=len(self.rows))

    @property
    def number(self) -> Ints:
        """The group of each row."""
        return np.repeat(np.arange(len(self.start)), self.counts)

    def where(self, keep: Bools) -> Groups:
        """Only some of the groups."""
        counts = self.counts
        start = np.cumsum(counts[keep]) - counts[keep]
        return Groups(self.rows[np.repeat(keep, counts)], start)

    def spread(self, values: Floats) -> Floats:
        """The most minus the least of each group, of a column of all rows."""
        own = values[self.rows]
        if not len(self.start):
            return np.zeros(0)
        return np.asarray(np.maximum.reduceat(own, self.start) - np.minimum.reduceat(own, self.start))

    def each(self) -> list[Ints]:
        """The rows of each group."""
        edges = [*self.start.tolist(), len(self.rows)]
        return [self.rows[first:after] for first, after in pairwise(edges)]


def onset_groups(heard: Heard, hand: str | None = None) -> Groups:
    """Rows of `Heard.rows` that are written on one onset and sounded together, two or more each.

    Notes further apart than the table says, or of two passes, are not together.
    """
    return heard.once(("onset groups", hand), lambda: _onset_groups(heard, hand))


def struck_at_once(heard: Heard, hand: str | None = None) -> Groups:
    """The same without those at which the page asks for a spread chord."""
    groups = onset_groups(heard, hand)
    return groups.where(~heard.spread_at(heard.rows["quarter"][groups.rows[groups.start]]))


def _onset_groups(heard: Heard, hand: str | None) -> Groups:
    rows = heard.rows
    index = np.flatnonzero(~rows["grace"] if hand is None else ~rows["grace"] & (rows["hand"] == hand))
    groups = grouped(index, np.round(rows["quarter"][index], 6))
    apart, passes = groups.spread(rows["onset_s"]), groups.spread(rows["passing"])
    farthest_s = heard.practice.value("together_farthest") / 1000
    return groups.where((groups.counts > 1) & (passes == 0) & (apart < farthest_s))


def grouped(index: Ints, key: Floats) -> Groups:
    """An index split into the parts of equal, neighbouring key."""
    return Groups(index, np.flatnonzero(np.diff(key, prepend=-np.inf)))


def place_of(heard: Heard, rows: Ints, hand: str = "", mark: str | None = None) -> Place:
    """The bars of some rows of `Heard.rows`, with a hand and a mark."""
    return Place(heard.bars_of(heard.rows["bar"][rows]), "R" if hand == "R" else "L" if hand == "L" else None, mark)
