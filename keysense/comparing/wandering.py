"""Do the differences of two takes wander, so that neighbours tell much the same?

Conventions
    Differences stand in written order. A steady change from start to end and a shape that returns in every phrase were
    meant, and are fitted first: a line, and one quadratic for all phrases where there are two; the rest is wander. What
    one difference carries on to the next is the lag-1 autocorrelation r of what is left, with the bias of a line
    through n values put back: r + 2 (1 + 3 r) / n. It counts only where it shows: above 1.3 / sqrt n, from twelve
    values on, and at most .9. So some one pair in ten that does not wander has a wider interval than it needs, and a
    slight wander goes unseen.

Findings
    None of its own: a mean counts as of n (1 - r) / (1 + r) values, a variance as of n (1 - r^2) / (1 + r^2).

References
    The effective number of values of a first-order autoregression, of a mean and of a variance: Bayley & Hammersley
    1946 (memory). The bias of r: Marriott & Pope 1954 (memory). Check: simulated, `tests/comparing/test_wandering.py`.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from keysense.findings.stats import Estimate, mean_of, t_quantile

__all__ = ["carried_on", "mean_of_pairs", "of_mean", "of_variance"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
_SHOWS, _MOST = 1.3, 0.9
_FEWEST = 12
_FEWEST_DF = 3.0


def carried_on(differences: Floats, quarter: Floats, phrase: Ints) -> float:
    """How much of each difference is carried on to the next, 0 where it does not show.

    quarter, phrase: where each stands and the number of its phrase, both in written order.
    """
    n = len(differences)
    if n < _FEWEST:
        return 0.0
    design = _meant(quarter, phrase)
    left = differences - design @ np.linalg.lstsq(design, differences, rcond=None)[0]
    squares = float(left @ left)
    if squares <= 1e-12 * n:
        return 0.0
    r = float(left[1:] @ left[:-1]) / squares
    r += 2 * (1 + 3 * r) / n
    return min(r, _MOST) if r > _SHOWS / math.sqrt(n) else 0.0


def _meant(quarter: Floats, phrase: Ints) -> Floats:
    """Columns of what may be meant: a level, a line, and of two phrases or more a quadratic alike in all."""
    level = np.column_stack([np.ones(len(quarter)), quarter - quarter.mean()])
    numbers, of = np.unique(phrase, return_inverse=True)
    if len(numbers) < 2:
        return level
    low, high = np.full(len(numbers), np.inf), np.full(len(numbers), -np.inf)
    np.minimum.at(low, of, quarter)
    np.maximum.at(high, of, quarter)
    along = 2 * (quarter - low[of]) / np.maximum(high - low, 1e-9)[of] - 1
    return np.column_stack([level, along, along**2])


def of_mean(r: float) -> float:
    """What share of so many values a mean of values counts as, each of which carries r on to the next."""
    return (1 - r) / (1 + r)


def of_variance(r: float) -> float:
    """The same of a variance."""
    return (1 - r**2) / (1 + r**2)


def mean_of_pairs(differences: Floats, quarter: Floats, phrase: Ints) -> Estimate:
    """The mean of differences with Student's interval, wider where they wander."""
    plain, r = mean_of(differences), carried_on(differences, quarter, phrase)
    if plain.value is None or r == 0:
        return plain
    df = max(_FEWEST_DF, plain.n * of_mean(r) - 1)
    se = plain.se / math.sqrt(of_mean(r))
    half = t_quantile(df) * se
    return replace(plain, low=plain.value - half, high=plain.value + half, se=se, df=df)
