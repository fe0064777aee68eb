"""The error of a take, the smallest change beyond it, and control limits."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
from statsmodels.formula.api import ols

from keysense.comparing.error import control_limits, error_of_days, error_of_pairs

# Bland & Altman 1996, BMJ 313:744, table 1: four peak flows (l/min) of each of twenty schoolchildren (V, table read)
PEAK_FLOWS = [
    [190, 220, 200, 200], [220, 200, 240, 230], [260, 260, 240, 280], [210, 300, 280, 265], [270, 265, 280, 270],
    [280, 280, 270, 275], [260, 280, 280, 300], [275, 275, 275, 305], [280, 290, 300, 290], [320, 290, 300, 290],
    [300, 300, 310, 300], [270, 250, 330, 370], [320, 330, 330, 330], [335, 320, 335, 375], [350, 320, 340, 365],
    [360, 320, 350, 345], [330, 340, 380, 390], [335, 385, 360, 370], [400, 420, 425, 420], [430, 460, 480, 470],
]  # fmt: skip


def test_the_error_and_the_smallest_change_are_the_published_ones() -> None:
    error = error_of_days(PEAK_FLOWS)
    assert error.sem == pytest.approx(21.46, abs=0.005)
    assert 59.35 < error.smallest_change() < 59.55  # published as 59.4 and 59.5, by rounding
    assert (error.df, error.occasions, error.n) == (60, 20, 80)


def test_it_is_the_residual_of_a_one_way_analysis_of_variance() -> None:
    rows = pd.DataFrame([(d, v) for d, row in enumerate(PEAK_FLOWS) for v in row], columns=["day", "flow"])
    table = sm.stats.anova_lm(ols("flow ~ C(day)", data=rows).fit())
    within = table.loc["Residual", "sum_sq"] / table.loc["Residual", "df"]
    assert error_of_days(PEAK_FLOWS).sem == pytest.approx(math.sqrt(within))


@pytest.mark.parametrize(("takes", "sems"), [(1, 2.77), (2, 1.96), (3, 1.60), (4, 1.39), (5, 1.24)])
def test_more_takes_an_occasion_make_a_smaller_change_mean_something(takes: int, sems: float) -> None:
    error = error_of_days(PEAK_FLOWS)
    assert error.smallest_change(takes) / error.sem == pytest.approx(sems, abs=0.005)  # C


def test_pairs_and_days_of_two_agree_where_second_takes_are_like_first_ones() -> None:
    rng = np.random.default_rng(3)
    day = rng.normal(10, 4, 2000)
    first, second = day + rng.normal(0, 1.5, 2000), day + rng.normal(0, 1.5, 2000)
    pairs, days = error_of_pairs(first, second), error_of_days(np.stack([first, second], 1).tolist())
    assert pairs.sem == pytest.approx(1.5, rel=0.05)
    assert days.sem == pytest.approx(pairs.sem, rel=0.01)


def test_what_all_second_takes_have_in_common_is_no_error() -> None:
    rng = np.random.default_rng(4)
    first = rng.normal(10, 1, 400)
    assert error_of_pairs(first, first + 3 + rng.normal(0, 1, 400)).sem == pytest.approx(1 / math.sqrt(2), rel=0.1)


def test_too_few_repeats_say_why() -> None:
    error = error_of_days([[1, 2], [3], [2, 4], [5]])
    assert error.sem is None and error.smallest_change() is None
    assert "5 takes repeated" in error.why and "2 came" in error.why
    assert "6 pairs" in error_of_pairs([1, 2], [2, 3]).why


def test_the_interval_of_the_error_holds_as_often_as_it_says() -> None:
    rng = np.random.default_rng(5)
    held = 0
    for _ in range(1000):
        error = error_of_days(rng.normal(rng.normal(0, 5, (6, 1)), 2.0, (6, 3)).tolist())
        held += error.low <= 2.0 <= error.high
    assert 930 <= held <= 970


def test_so_small_a_change_is_passed_by_error_once_in_twenty() -> None:
    rng = np.random.default_rng(6)
    days = rng.normal(rng.normal(0, 5, (400, 1)), 2.0, (400, 2))
    change = error_of_days(days.tolist()).smallest_change()
    moved = np.abs(days[:, 0] - days[:, 1]) > change
    assert 0.03 <= moved.mean() <= 0.07


def test_control_limits_are_the_computed_ones() -> None:
    control = control_limits(np.array([8, 10, 9, 11, 10, 9.0]))  # C
    assert (control.low, control.high) == pytest.approx((5.776, 13.224))
    assert control.range_limit == pytest.approx(4.575, abs=0.001)
    assert control.outside == ()


def test_a_value_far_off_stands_outside() -> None:
    assert control_limits(np.array([8, 10, 9, 11, 10, 9, 10, 9, 8, 10, 30.0])).outside == (10,)
    assert control_limits(np.array([1.0, 2.0])) is None
