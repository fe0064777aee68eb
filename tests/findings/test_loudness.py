"""How loud, along which line, how even about it, and do the marked passages differ."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.stats import ttest_ind
from scipy.stats.mstats import mquantiles

from fixtures.make.listening import heard, heard_alone
from fixtures.make.music import Marked, both_hands, chords, five_fingers, millers_cat, snail
from fixtures.make.player import Planted, play
from keysense.findings import look

STEP = (Marked("dynamic", 0, 16, "p1", "", "p"), Marked("dynamic", 16, 36, "f1", "", "f"))


@pytest.mark.parametrize("planted", [4, 8])
def test_planted_scatter_of_loudness_is_found_about_a_growing_line(planted: float) -> None:
    music = five_fingers(4).with_marks(Marked("crescendo", 0, 36, "c1"))
    found = [
        heard(music, Planted(touch_noise=planted, rises={"c1": 30}), seed).one("evenness_loudness").value
        for seed in range(40)
    ]
    assert np.median(found) == pytest.approx(planted, rel=0.12)


def test_one_bang_moves_the_robust_spread_little() -> None:
    played = play(five_fingers(8), Planted(touch_noise=5), 2)
    quiet = look(played.take(), played.music.target(), following=played.following()).one("evenness_loudness").value
    played.velocity[20] = 120
    loud = look(played.take(), played.music.target(), following=played.following()).one("evenness_loudness").value
    assert loud == pytest.approx(quiet, rel=0.15)


def test_a_louder_player_of_another_key_and_speed_is_as_even() -> None:
    plain = heard(five_fingers(4), Planted(touch_noise=6)).one("evenness_loudness").value
    other = heard(five_fingers(4), Planted(touch_noise=6, loudness=84, up=3, tempo_qpm=150)).one("evenness_loudness")
    assert other.value == pytest.approx(plain)


def test_eight_notes_are_too_few_for_evenness_of_loudness() -> None:
    found = heard(snail(), Planted(touch_noise=5)).one("evenness_loudness")
    assert found.value is None
    assert "8 came" in found.why_missing


def test_the_range_used_is_scipys_and_does_not_grow_with_the_notes() -> None:
    ranges = []
    for times in (4, 8, 32):
        reading = heard(five_fingers(times), Planted(touch_noise=8))
        velocity = reading.take.notes["velocity"].astype(float)
        low, high = mquantiles(velocity, (0.05, 0.95), alphap=1 / 3, betap=1 / 3)
        found = reading.one("loudness_range")
        assert found.value == pytest.approx(high - low) and found.n == len(velocity)
        ranges.append(found.low <= 2 * 1.645 * 8 <= found.high)
    assert all(ranges)
    assert heard(five_fingers(1), Planted(touch_noise=8)).one("loudness_range").value is None


def test_the_planted_contrast_is_louder_minus_softer() -> None:
    music = five_fingers(4).with_marks(*STEP)
    found = heard(music, Planted(levels={"p1": 50, "f1": 74})).one("loudness_contrast")
    assert found.value == pytest.approx(24)
    assert found.unit == "velocity"
    assert found.verdict == "within"
    turned = heard(music, Planted(levels={"p1": 74, "f1": 50}, touch_noise=3)).one("loudness_contrast")
    assert turned.value == pytest.approx(-24, abs=3)
    assert turned.verdict == "beyond"


def test_more_left_hand_in_the_loud_passage_is_no_contrast() -> None:
    music = both_hands(8).with_marks(*STEP)
    played = play(music, Planted(left_loudness=-20, touch_noise=2, left_out=tuple(range(1, 32, 2))), 3)
    found = look(played.take(), music.target(), following=played.following()).one("loudness_contrast")
    assert abs(found.value) < 3


def test_without_two_marks_and_with_two_notes_contrast_is_missing() -> None:
    assert "no two loudnesses" in heard(five_fingers(2)).one("loudness_contrast").why_missing
    few = five_fingers(2).with_marks(Marked("dynamic", 0, 2, "p1", "", "p"), Marked("dynamic", 2, 20, "f1", "", "f"))
    found = heard(few, Planted(touch_noise=3)).one("loudness_contrast")
    assert found.value is None
    assert "fewer than 3" in found.why_missing


def test_a_piano_of_one_loudness_gives_no_loudness_findings_and_says_why() -> None:
    music = five_fingers(4).with_marks(*STEP, Marked("crescendo", 0, 16, "c1", "R"))
    reading = heard(music, Planted(one_velocity=True, ioi_noise=0.05))
    for name in ("evenness_loudness", "loudness_contrast", "rise"):
        assert reading.one(name).value is None
        assert "one loudness" in reading.one(name).why_missing
    assert reading.contours == ()
    assert reading.one("tempo").value is not None


def test_two_curves_of_touch_give_the_same_sign_of_contrast() -> None:
    music = five_fingers(4).with_marks(*STEP)
    for curve in (0.6, 1.6):
        played = play(music, Planted(levels={"p1": 45, "f1": 80}, touch_noise=4), 4)
        played.velocity[:] = np.round(127 * (played.velocity / 127) ** curve)
        assert look(played.take(), music.target(), following=played.following()).one("loudness_contrast").low > 0


def test_the_contour_has_a_dot_a_note_and_a_line_broken_at_phrase_ends() -> None:
    reading = heard(millers_cat(), Planted(touch_noise=5))
    (contour,) = reading.contours
    assert contour.hand == "R"
    assert len(contour.velocity) == len(contour.line_velocity) == 26
    assert set(contour.stretch.tolist()) == {0, 1}
    assert np.flatnonzero(np.diff(contour.stretch)) + 1 == pytest.approx(np.searchsorted(contour.onset_quarter, 16))
    assert np.std(contour.line_velocity) < np.std(contour.velocity)


def test_the_line_is_straight_where_the_playing_is() -> None:
    music = five_fingers(4).with_marks(Marked("crescendo", 0, 36, "c1"))
    (contour,) = heard(music, Planted(rises={"c1": 36})).contours
    assert contour.line_velocity == pytest.approx(contour.velocity, abs=1)


def test_the_keys_of_a_chord_err_together_and_the_level_holds_as_often_as_it_says() -> None:
    music = chords("Hymn", ["C4+E4+G4", "D4+F4+A4", "E4+G4+B4", "D4+F4+A4"] * 10)
    held = 0
    for seed in range(100):
        played = play(music, Planted(), seed)
        struck = np.random.default_rng(seed).normal(60, 7, 40)
        played.velocity[:] = np.round(np.repeat(struck, 3)).astype(int)
        found = heard_alone(played, "loudness")
        held += found.low <= 60 <= found.high
    assert 90 <= held <= 99  # without it some 70


def test_the_contrast_is_welchs_of_scipy_and_beside_two_hands_statsmodels() -> None:
    # computed: scipy.stats.ttest_ind without equal variances; statsmodels' least squares with a level for each hand
    one = five_fingers(4).with_marks(*STEP)
    played = play(one, Planted(touch_noise=6, levels={"p1": 55, "f1": 75}), 3)
    found = look(played.take(), one.target(), following=played.following()).one("loudness_contrast")
    soft, loud = played.velocity[one.onset < 16], played.velocity[one.onset >= 16]
    welch = ttest_ind(loud, soft, equal_var=False).confidence_interval()
    assert (found.value, found.low, found.high) == pytest.approx((loud.mean() - soft.mean(), *welch))
    two = both_hands(8).with_marks(*STEP)
    played = play(two, Planted(touch_noise=6, levels={"p1": 55, "f1": 75}, left_loudness=-10), 3)
    found = look(played.take(), two.target(), following=played.following()).one("loudness_contrast")
    right = np.array([hand == "R" for hand in two.hand])[played.row]
    columns = np.stack([two.onset[played.row] >= 16, right, ~right], axis=1).astype(float)
    fit = sm.OLS(played.velocity.astype(float), columns).fit()
    assert found.value == pytest.approx(fit.params[0])
    assert found.low <= fit.conf_int()[0, 0] + 1e-6 and found.high >= fit.conf_int()[0, 1] - 1e-6
