"""Do the differences of two takes wander, so that neighbours tell much the same?

Conventions
    Differences stand in written order. Two characters have shapes of their own, so an arch for each phrase was meant
    and is fitted first (of each sixteen values where phrases are none or short); what is left may wander. What one
    difference carries on to the next is read by `keysense.findings.wander` and counts only where it shows. Read from
    few values it is ill known itself: independent ones now and then look as though nearly all were carried on, and an
    obvious difference would be lost. So a mean counts as of at least five values, however much they seem to wander.

Findings
    None of its own: a mean counts as of n (1 - r) / (1 + r) values, five or more, a variance as of n (1 - r^2) /
    (1 + r^2).

References
    The effective number of values of a first-order autoregression, of a mean and of a variance: Bayley & Hammersley
    1946 (memory). Check: simulated, `tests/comparing/test_wandering.py`. The five, of 2,000 series: of 26 independent
    values whose mean is 2.35 of their spreads, 99.3 % are told apart from nothing (98.0 % without it), of 16
    93.3 (79.2); at 4.1 spreads all (98.9 and 82.7). Of values that carry .8 on and differ by nothing, 26 are told apart
    in 7.2 % (7.5 without it), 20 in 11.0 (10.6), 16 in 14.7 (13.4): what it costs, short tunes that wander much pay.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import numpy.typing as npt

from keysense.findings import wander
from keysense.findings.stats import Estimate, mean_of, t_quantile

__all__ = ["carried_on", "mean_of_pairs", "of_mean", "of_variance"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
_FEWEST = 5.0  # values
_ARCH = 16  # values


def carried_on(differences: Floats, quarter: Floats, phrase: Ints) -> float:
    """How much of each difference is carried on to the next, 0 where it does not show.

    quarter, phrase: where each stands and the number of its phrase, both in written order.
    """
    n = len(differences)
    if n < 2:
        return 0.0
    of = _arch_of(phrase)
    design = _arches(quarter, of)
    left = differences - design @ np.linalg.lstsq(design, differences, rcond=None)[0]
    r = float(wander.lag_one(left, np.zeros(n, np.int64), np.array([n]))[0])
    return float(wander.where_it_shows(np.array([_before_the_fit(r, n // (of[-1] + 1))]), np.array([n]))[0])


def _arch_of(phrase: Ints) -> Ints:
    """The number of the arch each value lies under: its phrase's, or that of each sixteen values or so."""
    n, (numbers, of, count) = len(phrase), np.unique(phrase, return_inverse=True, return_counts=True)
    if len(numbers) > 1 and count.min() >= _ARCH // 2:
        return of
    return np.arange(n) * max(1, n // _ARCH) // n


def _arches(quarter: Floats, of: Ints) -> Floats:
    """Columns of a level, a line and a curve for each arch."""
    parts = of[-1] + 1
    low, high = np.full(parts, np.inf), np.full(parts, -np.inf)
    np.minimum.at(low, of, quarter)
    np.maximum.at(high, of, quarter)
    along = 2 * (quarter - low[of]) / np.maximum(high - low, 1e-9)[of] - 1
    own = of[:, None] == np.arange(parts)
    return np.hstack([own * along[:, None] ** power for power in range(3)])


def _before_the_fit(r: float, values: int) -> float:
    """What was carried on before an arch was fitted to so many values, of which r is left."""
    left, carried = _left_by_an_arch(min(values, 4 * _ARCH))
    return float(np.interp(r, left, carried))


@cache
def _left_by_an_arch(values: int) -> tuple[Floats, Floats]:
    """For r of 0 to .95: the lag-1 autocorrelation to expect of values that carry r on, once an arch is fitted to them.

    By what the fit leaves of their covariance: with R = I - H, of R r^|i - j| R.
    """
    at = np.arange(values)
    design = _arches(at.astype(float), np.zeros(values, np.int64))
    rest = np.eye(values) - design @ np.linalg.pinv(design)
    carried = np.linspace(0.0, 0.95, 20)
    left = []
    for r in carried:
        covariance = rest @ r ** np.abs(at[:, None] - at) @ rest
        left.append(np.trace(covariance, 1) / np.trace(covariance) if values > 3 else 0.0)
    return np.maximum.accumulate(left), carried


def of_mean(r: float) -> float:
    """What share of so many values a mean of values counts as, each of which carries r on to the next."""
    return float(wander.counting_as(np.asarray(r)))


def of_variance(r: float) -> float:
    """The same of a variance."""
    return (1 - r**2) / (1 + r**2)


def mean_of_pairs(differences: Floats, quarter: Floats, phrase: Ints) -> Estimate:
    """The mean of differences with Student's interval, wider where they wander."""
    plain, r = mean_of(differences), carried_on(differences, quarter, phrase)
    if plain.value is None or r == 0:
        return plain
    counts_as = max(_FEWEST, plain.n * of_mean(r))
    df = max(_FEWEST - 1, counts_as - 2)  # one more for r, which was read from the same values
    se = plain.se * math.sqrt(plain.n / counts_as)
    half = t_quantile(df) * se
    return replace(plain, low=plain.value - half, high=plain.value + half, se=se, df=df)
