"""Estimates with intervals that cover as often as they say.

Conventions
    Every function takes plain arrays and gives an `Estimate`: the value, its 95 % interval, and how many numbers it
    rests on. A value that cannot be had is None, never zero. `level` is the chance that an interval holds the truth.

Findings
    None of its own: estimates that other files use.

References
    Estimates by ranks: `keysense.findings.ranks`.
    Donner & Zou 2012, Stat Methods Med Res 21: the interval of a difference from two separate intervals (memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from keysense.findings.wander import carried_on, counting_as

__all__ = [
    "MAD_TO_SD",
    "Estimate",
    "chance_of",
    "chi_interval",
    "difference_of",
    "first_coefficient",
    "mean_of",
    "middle_of",
    "normal_quantile",
    "robust_interval",
    "slopes_of",
    "t_at",
    "t_ps",
    "t_quantile",
    "t_quantiles",
    "t_two_sided_p",
    "welch",
]

Floats = npt.NDArray[np.float64]
LEVEL = 0.95
MAD_TO_SD = 1.4826  # the median absolute value of a standard normal is 0.6745
_FEWEST_DF = 3.0  # left to what wanders
_MAD_EFFICIENCY = 0.3675  # of the MAD against the SD for normal data (published: Rousseeuw & Croux 1993; memory)


@dataclass(frozen=True)
class Estimate:
    """A value, its interval, and the number of points it rests on. ``se`` and ``df`` where a t interval was made."""

    value: float | None
    low: float | None
    high: float | None
    n: int
    se: float = math.nan
    df: float = math.nan

    def whole(self) -> tuple[float, float, float]:
        """Value, low and high; ValueError where there is no interval."""
        if self.value is None or self.low is None or self.high is None:
            raise ValueError(f"an estimate from {self.n} values has no interval")
        return self.value, self.low, self.high


@lru_cache(4096)
def t_quantile(df: float, level: float = LEVEL) -> float:
    """The two-sided quantile of Student's t."""
    from scipy.special import stdtrit

    return float(stdtrit(df, 0.5 + level / 2))


@lru_cache(4096)
def t_at(df: float, share: float) -> float:
    """The one-sided quantile of Student's t: this share lies below it."""
    from scipy.special import stdtrit

    return float(stdtrit(df, share))


@lru_cache(64)
def normal_quantile(share: float) -> float:
    """The quantile of the standard normal law: this share lies below it."""
    from scipy.special import ndtri

    return float(ndtri(share))


def t_two_sided_p(value: float, se: float, df: float) -> float:
    """How often a t this far from zero comes from nothing; 1 where it cannot be known."""
    from scipy.special import stdtr

    if not (se > 0 and df > 0):
        return 1.0
    return float(2 * stdtr(df, -abs(value) / se))


def t_quantiles(df: Floats) -> Floats:
    """`t_quantile` of many."""
    from scipy.special import stdtrit

    return np.asarray(stdtrit(df, 0.5 + LEVEL / 2))


def t_ps(value: Floats, df: Floats) -> Floats:
    """`t_two_sided_p` of many, of standard error 1."""
    from scipy.special import stdtr

    return np.asarray(2 * stdtr(df, -np.abs(value)))


def middle_of(ordered: Floats) -> float:
    """The median of values in order; in a third of the time of numpy's, which counts where thousands are wanted."""
    return float(ordered[(len(ordered) - 1) // 2] + ordered[len(ordered) // 2]) / 2


def chance_of(value: float, se: float, df: float) -> float:
    """The same, of what has no scatter at all: nothing else could have come."""
    return 0.0 if se == 0 and df > 0 and value != 0 else t_two_sided_p(value, se, df)


def mean_of(values: Floats, level: float = LEVEL) -> Estimate:
    """The mean with Student's interval; no interval from one value alone."""
    n = len(values)
    if n == 0:
        return Estimate(None, None, None, 0)
    mean = float(values.mean())
    if n < 2:
        return Estimate(mean, None, None, n)
    se = float(values.std(ddof=1)) / math.sqrt(n)
    half = t_quantile(n - 1, level) * se
    return Estimate(mean, mean - half, mean + half, n, se, n - 1)


def welch(a: Floats, b: Floats, level: float = LEVEL) -> Estimate:
    """Mean of b minus mean of a with Welch's interval; None with fewer than two values on a side."""
    n = len(a) + len(b)
    if min(len(a), len(b)) < 2:
        return Estimate(None, None, None, n)
    var_a, var_b = float(a.var(ddof=1)) / len(a), float(b.var(ddof=1)) / len(b)
    difference, se = float(b.mean() - a.mean()), math.sqrt(var_a + var_b)
    if se == 0:
        return Estimate(difference, difference, difference, n, 0.0, n - 2)
    df = (var_a + var_b) ** 2 / (var_a**2 / (len(a) - 1) + var_b**2 / (len(b) - 1))
    half = t_quantile(df, level) * se
    return Estimate(difference, difference - half, difference + half, n, se, df)


def first_coefficient(design: Floats, y: Floats, level: float = LEVEL) -> Estimate:
    """The first coefficient of a least-squares fit with Student's interval; None without a degree of freedom left.

    y: in order of time; where what is left wanders, the interval is wider (`keysense.findings.wander`).
    """
    if not len(y):
        return Estimate(None, None, None, 0)
    u, size, vt = np.linalg.svd(design, full_matrices=False)
    told = size > size[0] * max(design.shape) * np.finfo(float).eps
    u, first = u[:, told], vt[told, 0] / size[told]
    df: float = len(y) - int(np.count_nonzero(told))
    if df < 1:
        return Estimate(None, None, None, len(y))
    along = u.T @ y
    residual = y - u @ along
    value, se = float(first @ along), math.sqrt(float(first @ first) * float(residual @ residual) / df)
    n, p = len(y), int(np.count_nonzero(told))
    share = float(counting_as(carried_on(residual, np.zeros(n, np.int64), np.array([n]), p))[0])
    se, df = se / math.sqrt(share), df if share == 1 else max(_FEWEST_DF, n * share - p)
    half = t_quantile(df, level) * se
    return Estimate(value, value - half, value + half, n, se, df)


def slopes_of(x: Floats, y: Floats, number: npt.NDArray[np.int64], parts: int) -> list[tuple[Estimate, float]]:
    """The straight line of least squares of each numbered part: its slope with Student's interval, and the span of x.

    No slope below three points. All parts at once, by the sums of each. Wider where what is left wanders.
    """

    def total(values: Floats) -> Floats:
        return np.asarray(np.bincount(number, values, parts), float)

    n = np.bincount(number, minlength=parts)
    span = np.full((2, parts), [[np.inf], [-np.inf]])
    np.minimum.at(span[0], number, x)
    np.maximum.at(span[1], number, x)
    x, y = (values - (total(values) / np.maximum(n, 1))[number] for values in (x, y))
    size = total(x * x)
    told = (n >= 3) & (size > 0)
    slope = np.divide(total(x * y), size, out=np.zeros(parts), where=told)
    residual = y - slope[number] * x
    share = counting_as(carried_on(residual, number, n, 2))
    dfs = np.where(share < 1, np.maximum(_FEWEST_DF, n * share - 2), n - 2)
    se = np.sqrt(np.divide(total(residual**2), (n - 2) * size * share, out=np.zeros(parts), where=told))
    found = []
    columns = (n, slope, se, dfs, span[1] - span[0])
    for k, (of, value, error, df, wide) in enumerate(zip(*(column.tolist() for column in columns), strict=True)):
        if not told[k]:
            found.append((Estimate(None, None, None, of), 0.0))
            continue
        half = t_quantile(df) * error
        found.append((Estimate(value, value - half, value + half, of, error, df), wide))
    return found


def chi_interval(sd: float, df: float, level: float = LEVEL) -> tuple[float, float]:
    """The interval of a standard deviation known from ``df`` degrees of freedom."""
    low, high = _chi_factors(df, level)
    return sd * low, sd * high


@lru_cache(4096)
def _chi_factors(df: float, level: float) -> tuple[float, float]:
    from scipy.special import chdtri

    tail = (1 - level) / 2
    return math.sqrt(df / chdtri(df, tail)), math.sqrt(df / chdtri(df, 1 - tail))


def robust_interval(sd: float, n: int, p: int, level: float = LEVEL) -> tuple[float, float]:
    """The interval of a spread read from the median absolute residual of a fit with ``p`` parameters.

    The median uses the data less well than the standard deviation, so it counts for fewer degrees of freedom: .3675
    of them with many points, a little more with few and with many parameters (simulated, 40,000 fits of quadratics
    through 11 to 200 points; with this it covers 94.5 to 95.5 %).
    """
    efficiency = _MAD_EFFICIENCY + 0.22 * p / n + 0.45 / n
    return chi_interval(sd, max(1.0, efficiency * (n - p)), level)


def difference_of(a: Estimate, b: Estimate) -> Estimate:
    """b minus a from two separate estimates, each with its own, perhaps lopsided, interval."""
    n = a.n + b.n
    if a.value is None or b.value is None:
        return Estimate(None, None, None, n)
    value = b.value - a.value
    if a.low is None or a.high is None or b.low is None or b.high is None:
        return Estimate(value, None, None, n)
    below, above = math.hypot(b.value - b.low, a.high - a.value), math.hypot(b.high - b.value, a.value - a.low)
    return Estimate(value, value - below, value + above, n)
