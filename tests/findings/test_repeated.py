"""Several playings of one run: unevenness alike each time, instability from time to time."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.make.listening import heard
from fixtures.make.music import five_fingers, millers_cat
from fixtures.make.player import Planted
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


def test_a_warm_up_written_again_and_again_tells_both() -> None:
    # every third note of eight comes late alike: a profile; and each key scatters by itself: instability
    music = five_fingers(9)
    late = {row: 1.08 if row % 8 == 3 else 1 / 1.08 for row in range(1, 72) if row % 8 in (3, 4)}
    found = heard(music, Planted(waits=late, onset_jitter_s=0.004, tempo_qpm=120))
    uneven, unstable = found.one("run_unevenness", "R"), found.one("run_instability", "R")
    profile = np.array([0, 0, 0, 40, 2.963, 2.963, 2.963, 2.963])  # ms; what is left over from a step of 8 %
    line = np.polynomial.Polynomial.fit(np.arange(8), profile, 1)(np.arange(8))
    assert uneven.n == unstable.n == 9
    assert uneven.value == pytest.approx(np.sqrt(((profile - line) ** 2).mean()), abs=1.5)
    assert unstable.low < 4 < unstable.high


def test_a_run_gone_back_to_is_a_playing_too() -> None:
    music = five_fingers(1)
    found = heard(music, Planted(restart=(7, 0))).one("run_unevenness")
    assert found.n == 2 and "4 playings" in found.why_missing


def test_the_same_figures_from_the_columns_themselves() -> None:
    from fixtures.make.player import play

    music = five_fingers(6)
    played = play(music, Planted(ioi_noise=0.05), 4)
    theirs = repeated_runs(1000 * played.onset_s[:48].reshape(6, 8))
    found = heard(music, Planted(ioi_noise=0.05), 4)
    assert found.one("run_unevenness").value == pytest.approx(theirs.unevenness_ms)
    assert found.one("run_instability").value == pytest.approx(theirs.instability_ms)


def test_a_tune_without_such_a_run_has_neither() -> None:
    assert heard(millers_cat()).one("run_unevenness") is None
