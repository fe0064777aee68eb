"""How far the notes of a chord come apart, and how the melody stands to the rest."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from fixtures.make.listening import heard
from fixtures.make.music import Marked, Music, both_hands, chords, five_fingers, gate_posts
from fixtures.make.player import Planted, play
from keysense.findings import look
from keysense.findings.rows import median_by_sign

TWO = both_hands(8)
PLAN = Planted(lag_s=0.03, lag_noise_s=0.004, left_loudness=-10, touch_noise=4, ioi_noise=0.05)


def test_the_planted_lead_balance_and_spread_are_found() -> None:
    # the plant: the left hand 30 ms behind and 10 units below (the job asks for 10 found within 2)
    reading = heard(TWO, PLAN)
    assert reading.one("melody_lead").value == pytest.approx(30, abs=3)
    assert reading.one("chord_spread").value == pytest.approx(30, abs=3)
    assert reading.one("voicing").value == pytest.approx(10, abs=2)
    assert reading.one("melody_lead_loudness").value == pytest.approx(10, abs=3)


def test_speed_and_key_change_nothing() -> None:
    plain, moved = heard(TWO, PLAN), heard(TWO, replace(PLAN, tempo_qpm=140, up=-3))
    for name in ("melody_lead", "chord_spread", "voicing"):
        assert moved.one(name).value == pytest.approx(plain.one(name).value, abs=1e-6)


def test_a_single_line_has_neither() -> None:
    reading = heard(five_fingers(4))
    for name in ("chord_spread", "melody_lead", "voicing"):
        assert reading.one(name) is None


def test_too_few_chords_are_missing_and_say_so() -> None:
    few = chords("Three", ["C4+E4", "D4+F4", "E4+G4"], length=2)
    found = heard(few).one("chord_spread")
    assert found.value is None
    assert "takes 6 chords" in found.why_missing


def test_a_chord_is_the_last_key_minus_the_first() -> None:
    music = chords("Six", ["C4+E4+G4"] * 6)
    played = play(music, Planted(tempo_qpm=60), 1)
    late = np.tile([0.0, 0.01, 0.05], 6)
    played.onset_s[:] = played.onset_s[:] + late[played.row]
    found = look(played.take(), music.target(), following=played.following()).one("chord_spread")
    assert found.value == pytest.approx(50)


def test_a_hand_that_waited_is_no_spread_chord() -> None:
    assert heard(TWO, Planted(lag_s=0.7)).one("chord_spread").value is None


def test_on_a_piano_of_one_loudness_no_balance_is_told() -> None:
    reading = heard(TWO, Planted(one_velocity=True))
    assert "one loudness" in reading.one("voicing").why_missing
    assert reading.one("melody_lead").value is not None


def test_the_sign_interval_is_what_the_sign_test_does_not_refuse() -> None:
    # computed: scipy.stats.binomtest refuses at 5 % exactly the medians outside the interval
    values = np.sort(np.random.default_rng(2).exponential(20, 17))
    e = median_by_sign(values)
    for tried, refused in ((e.low - 1e-6, True), (e.low + 1e-6, False), (e.high - 1e-6, False), (e.high + 1e-6, True)):
        assert bool(stats.binomtest(int((values > tried).sum()), 17).pvalue < 0.05) is refused


def test_thumb_and_little_finger_are_chords_too() -> None:
    assert heard(gate_posts(), Planted(upper_s=0.02)).one("chord_spread").value == pytest.approx(20)


def test_a_tune_in_the_left_hand_under_chords_is_the_tune() -> None:
    tune = [(float(k), 1.0, "L", 48 + abs(k % 12 - 6)) for k in range(32)]
    above = [(4.0 * bar, 4.0, "R", pitch) for bar in range(8) for pitch in (64, 67, 72)]
    onset, length, hand, pitch = zip(*sorted([*tune, *above]), strict=True)
    music = Music("Below", np.array(onset), np.array(length), np.array(pitch), hand, np.arange(8) * 4.0)
    found = heard(music, Planted(left_loudness=20, touch_noise=4))
    assert found.one("voicing").value == pytest.approx(20, abs=3)
    assert found.one("melody_lead_loudness").value == pytest.approx(20, abs=4)


@pytest.mark.parametrize("above", [(0, 4), (0, 12)])
def test_a_tune_in_thirds_or_octaves_over_broken_chords_is_the_tune(above: tuple[int, int]) -> None:
    tune = [(float(k), 1.0, "R", 67 + (5 * k) % 7 + more) for k in range(32) for more in above]
    below = [(k / 2, 0.5, "L", 48 + (0, 7, 4, 7)[k % 4]) for k in range(64)]
    onset, length, hand, pitch = zip(*sorted([*tune, *below]), strict=True)
    music = Music("Above", np.array(onset), np.array(length), np.array(pitch), hand, np.arange(8) * 4.0)
    assert heard(music, Planted(left_loudness=-20, touch_noise=4)).one("voicing").value > 5


def test_chords_that_the_page_asks_to_spread_tell_nothing_of_keys_meant_together() -> None:
    spread = both_hands(8).with_marks(*(Marked("spread", 4 * k, 4 * k, f"a{k}", "L") for k in range(8)))
    plain, asked = heard(both_hands(8), PLAN), heard(spread, PLAN)
    for name in ("hands_lag", "chord_spread", "melody_lead"):
        assert asked.one(name).n == plain.one(name).n - 8
    every = both_hands(2).with_marks(*(Marked("spread", k, k, f"a{k}", "L") for k in range(9)))
    assert "spread chords" in heard(every, PLAN).one("hands_lag").why_missing
