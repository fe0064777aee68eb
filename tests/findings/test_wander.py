"""What wanders is no slope: lines of errors that are carried on from one value to the next."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.make.listening import heard_alone
from fixtures.make.music import five_fingers
from fixtures.make.player import Planted, play
from keysense.findings.stats import first_coefficient, slopes_of

N, TIMES = 64, 600


def lines(carried: float) -> np.ndarray:
    """Rows of N errors of spread one, of which so much is carried on."""
    rng = np.random.default_rng(5)
    z = rng.normal(0, 1, (TIMES, N))
    for k in range(1, N):
        z[:, k] = carried * z[:, k - 1] + np.sqrt(1 - carried**2) * z[:, k]
    return z


@pytest.mark.parametrize(("carried", "least", "most"), [(0.0, 0.02, 0.07), (0.5, 0.02, 0.1), (0.7, 0.02, 0.1)])
def test_a_slope_is_found_in_nothing_about_as_seldom_as_it_says(carried: float, least: float, most: float) -> None:
    # computed: without the wider intervals 26 % at .5 and 42 % at .7
    design = np.stack([np.arange(N) - N / 2, np.ones(N)], axis=1)
    found = [first_coefficient(design, y) for y in lines(carried)]
    assert least <= np.mean([not e.low <= 0 <= e.high for e in found]) <= most


def test_the_slopes_of_many_parts_are_those_of_each() -> None:
    y, x = lines(0.6)[:4], np.arange(N, dtype=float)
    design = np.stack([x, np.ones(N)], axis=1)
    together = slopes_of(np.tile(x, 4), y.ravel(), np.repeat(np.arange(4), N), 4)
    for row, (e, span) in zip(y, together, strict=True):
        one = first_coefficient(design, row)
        assert (e.value, e.low, e.high, e.df) == pytest.approx((one.value, one.low, one.high, one.df))
        assert span == N - 1


def test_a_wandering_pace_is_seldom_a_drift() -> None:
    plan, claimed = Planted(ioi_noise=0.06, wander=0.6), 0
    for seed in range(60):
        drift = heard_alone(play(five_fingers(8), plan, seed), "drift")
        claimed += not drift.low <= 0 <= drift.high
    assert claimed <= 11  # 5 % would be 3; without the wider intervals about 20


def test_what_is_exact_stays_exact() -> None:
    e = first_coefficient(np.stack([np.arange(32.0), np.ones(32)], axis=1), 0.01 * np.arange(32.0))
    assert e.value == pytest.approx(0.01)
    assert e.high - e.low < 1e-12
