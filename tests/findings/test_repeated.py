"""Several playings of one run: unevenness alike each time, instability from time to time."""

from __future__ import annotations

import numpy as np
import pytest

from keysense.findings.repeated import repeated_runs

THREE = [
    [0, 124, 250, 379, 500, 627, 748, 876],
    [0, 126, 253, 381, 502, 629, 752, 879],
    [0, 123, 248, 378, 498, 624, 746, 873],
]


def test_the_computed_check_values() -> None:
    # method published: van Vugt, Jabusch, Altenmueller 2012; values computed: 1.630 ms and .492 ms
    found = repeated_runs(THREE)
    assert found.unevenness_ms == pytest.approx(1.630, abs=5e-4)
    assert found.instability_ms == pytest.approx(0.492, abs=5e-4)


def test_a_planted_profile_is_unevenness_and_noise_is_instability() -> None:
    rng = np.random.default_rng(3)
    profile = np.array([0, 6, -5, 4, -6, 5, -4, 0.0])
    runs = 125 * np.arange(8) + profile + rng.normal(0, 3, (40, 8))
    found = repeated_runs(runs)
    line = np.polynomial.Polynomial.fit(np.arange(8), profile, 1)(np.arange(8))
    assert found.unevenness_ms == pytest.approx(np.sqrt(((profile - line) ** 2).mean()), abs=0.6)
    assert found.instability_ms == pytest.approx(3, abs=0.7)


def test_pace_and_start_change_nothing() -> None:
    plain, moved = repeated_runs(THREE), repeated_runs(np.array(THREE) + 5000 + 60 * np.arange(8))
    assert moved.unevenness_ms == pytest.approx(plain.unevenness_ms)
    assert moved.instability_ms == pytest.approx(plain.instability_ms)


def test_one_playing_or_three_notes_tell_neither() -> None:
    assert repeated_runs(THREE[:1]) is None
    assert repeated_runs(np.array(THREE)[:, :3]) is None
