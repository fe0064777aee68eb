"""Scatter of an even run, parted into the inner pulse and the single keys."""

from __future__ import annotations

import numpy as np
import pytest
from statsmodels.tsa.stattools import acovf

from fixtures.make.listening import heard
from fixtures.make.music import five_fingers
from fixtures.make.player import Planted
from keysense.findings.clock import VIOLATED, autocovariances, clock_and_keys

PUBLISHED_METHOD = np.array([510.0, 495, 505, 490, 512, 493, 507, 488])


def made(rng: np.random.Generator, n: int, clock: float, keys: float) -> np.ndarray:
    return 500 + rng.normal(0, clock, n) + np.diff(rng.normal(0, keys, n + 1))


def test_the_autocovariances_are_those_of_statsmodels_and_the_model_is_violated() -> None:
    # formula: Wing & Kristofferson 1973, from memory; values computed: 79.5 and -57.75, so g(0) + 2 g(1) is negative
    g0, g1 = autocovariances(PUBLISHED_METHOD)
    assert (g0, g1) == pytest.approx((79.5, -57.75))
    assert (g0, g1) == pytest.approx(tuple(acovf(PUBLISHED_METHOD, nlag=1)))
    assert g0 + 2 * g1 < 0
    assert clock_and_keys([np.tile(PUBLISHED_METHOD, 4)]) is None


def test_with_many_steps_both_are_the_published_formula() -> None:
    steps = made(np.random.default_rng(4), 40_000, 20, 8)
    g0, g1 = autocovariances(steps)
    found = clock_and_keys(np.array_split(steps, 1000))
    assert [sd for sd, _, _ in found] == pytest.approx([np.sqrt(g0 + 2 * g1), np.sqrt(-g1)], rel=0.02)
    assert [sd for sd, _, _ in found] == pytest.approx([20, 8], rel=0.04)


def test_what_was_planted_is_held() -> None:
    rng, held = np.random.default_rng(6), []
    for _ in range(150):
        found = clock_and_keys(np.array_split(made(rng, 64, 10, 10), 2))
        if found is not None:
            held += [low <= 10 <= high for _, low, high in found]
    assert 0.9 <= np.mean(held) <= 0.99


def test_a_take_tells_both_in_ms_and_a_short_run_neither() -> None:
    reading = heard(five_fingers(12), Planted(ioi_noise=0.03, onset_jitter_s=0.01, tempo_qpm=120))
    for name, true in (("pulse_scatter", 15), ("key_scatter", 10)):
        found = reading.one(name, "R")
        assert found.n == 96 and found.low < true < found.high
    assert heard(five_fingers(3)).one("pulse_scatter") is None


def test_what_does_not_part_says_so() -> None:
    found = heard(five_fingers(12), Planted(waits={row: 1.05 if row % 2 else 1 / 1.05 for row in range(2, 97)}))
    assert found.one("pulse_scatter").why_missing == VIOLATED
