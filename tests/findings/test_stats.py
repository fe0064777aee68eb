"""Our estimates against scipy and statsmodels on the same numbers, and against computed check values."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats
import statsmodels.api as sm
from statsmodels.stats.weightstats import CompareMeans, DescrStatsW

from keysense.comparing.weeks import mann_kendall
from keysense.findings.ranks import median_of, theil_sen
from keysense.findings.stats import (
    Estimate,
    chi_interval,
    difference_of,
    first_coefficient,
    mean_of,
    robust_interval,
    welch,
)

RNG = np.random.default_rng(7)
GROWING = np.array([40, 44, 43, 50, 55, 60, 58, 66], float)


def test_a_computed_crescendo_has_its_slope_and_interval() -> None:
    # computed check values: slope 3.732 (2.8; 5.0), Kendall tau .8571, exact p .00174
    e = theil_sen(np.arange(8.0), GROWING)
    assert (e.value, e.low, e.high) == pytest.approx((3.732, 2.8, 5.0), abs=0.001)
    tau = scipy.stats.kendalltau(np.arange(8), GROWING, method="exact")
    assert (tau.statistic, tau.pvalue) == pytest.approx((0.8571, 0.00174), abs=1e-4)
    s, p = mann_kendall(GROWING)
    assert (s, p) == (24, pytest.approx(tau.pvalue))


@pytest.mark.parametrize("n", [5, 8, 16, 40, 120])
def test_theil_sen_is_scipys(n: int) -> None:
    x, y = np.sort(RNG.uniform(0, 9, n)), RNG.normal(0, 1, n)
    ours, theirs = theil_sen(x, y), scipy.stats.theilslopes(y, x)
    assert ours.value == pytest.approx(theirs.slope)
    if n >= 40:  # scipy's interval uses the normal law, ours the exact one; they meet as n grows
        assert (ours.low, ours.high) == pytest.approx((theirs.low_slope, theirs.high_slope), abs=0.02)


def test_the_mean_and_welch_are_those_of_scipy_and_statsmodels() -> None:
    a, b = RNG.normal(50, 6, 14), RNG.normal(61, 9, 23)
    ours = welch(a, b)
    theirs = scipy.stats.ttest_ind(b, a, equal_var=False).confidence_interval()
    assert (ours.low, ours.high) == pytest.approx((theirs.low, theirs.high))
    pair = CompareMeans(DescrStatsW(b), DescrStatsW(a)).tconfint_diff(usevar="unequal")
    assert (ours.low, ours.high) == pytest.approx(pair)
    mean = mean_of(a)
    assert (mean.low, mean.high) == pytest.approx(DescrStatsW(a).tconfint_mean())


def test_least_squares_is_statsmodels() -> None:
    rng = np.random.default_rng(3)  # its own: of one series in twenty chance alone makes a wander, and a wider interval
    x, hand = rng.normal(0, 1, 30), rng.integers(0, 2, 30)
    y = 3 * x + 5 * hand + rng.normal(0, 1, 30)
    design = np.stack([x, np.ones(30), hand], axis=1)
    ours, theirs = first_coefficient(design, y), sm.OLS(y, design).fit()
    assert ours.value == pytest.approx(theirs.params[0])
    assert (ours.low, ours.high) == pytest.approx(tuple(theirs.conf_int()[0]))


@pytest.mark.parametrize("n", [6, 9, 25])
def test_the_signed_rank_interval_agrees_with_the_signed_rank_test(n: int) -> None:
    values = RNG.normal(10, 3, n)
    e = median_of(values)
    for bound, inside in ((e.low - 1e-6, False), (e.low + 1e-6, True), (e.high - 1e-6, True), (e.high + 1e-6, False)):
        p = scipy.stats.wilcoxon(values - bound, method="exact").pvalue
        assert bool(p > 0.05) is inside


@pytest.mark.parametrize("n", [3, 4, 5])
def test_with_three_to_five_values_the_interval_is_students(n: int) -> None:
    values = RNG.normal(0, 1, n)
    t = scipy.stats.t.interval(0.95, n - 1, values.mean(), scipy.stats.sem(values))
    assert (median_of(values).low, median_of(values).high) == pytest.approx(t)


def test_a_spread_has_the_chi_square_interval() -> None:
    low, high = chi_interval(2.0, 20)
    assert (low, high) == pytest.approx(
        (2 * np.sqrt(20 / scipy.stats.chi2.ppf(0.975, 20)), 2 * np.sqrt(20 / scipy.stats.chi2.ppf(0.025, 20)))
    )
    wide = robust_interval(2.0, 23, 3)
    assert wide[0] < low
    assert wide[1] > high


def test_a_difference_of_equal_estimates_is_symmetric_about_nothing() -> None:
    e = difference_of(Estimate(5, 4, 7, 10), Estimate(5, 4, 7, 10))
    assert e.value == 0
    assert e.low == -e.high


def test_too_few_values_have_no_interval() -> None:
    assert median_of(np.array([])).value is None
    assert median_of(np.array([1.0, 2.0])).low is None
    assert theil_sen(np.arange(4.0), np.arange(4.0)).low is None
    assert welch(np.array([1.0]), np.array([1.0, 2.0])).value is None
    with pytest.raises(ValueError, match="no interval"):
        mean_of(np.array([1.0])).whole()


def test_computed_trend_of_eight_weeks() -> None:
    # computed check values: S 22, exact p .00551; a perfect rise of four has p = .083
    values = np.array([10, 12, 11, 14, 15, 13, 16, 18], float)
    assert mann_kendall(values) == (22, pytest.approx(0.00551, abs=1e-5))
    assert mann_kendall(np.arange(4.0))[1] == pytest.approx(0.083, abs=0.001)
    e = theil_sen(np.arange(8.0), values)
    assert (e.value, e.low, e.high) == pytest.approx((1.0, 0.5, 2.0))
    tied = np.array([1, 2, 2, 3, 5, 4, 6, 6.0])
    s, p = mann_kendall(tied)
    assert s == 24
    assert p == pytest.approx(scipy.stats.kendalltau(np.arange(8), tied, method="asymptotic").pvalue, abs=0.01)
