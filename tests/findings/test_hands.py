"""Do the hands sound together, and which is first."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.make.listening import heard
from fixtures.make.music import Music, both_hands, five_fingers
from fixtures.make.player import Planted, play
from keysense.findings import look


@pytest.mark.parametrize("lag_ms", [-25, 0, 25])
def test_the_planted_lag_is_left_minus_right(lag_ms: float) -> None:
    found = heard(both_hands(8), Planted(lag_s=lag_ms / 1000)).one("hands_lag")
    assert found.value == pytest.approx(lag_ms, abs=1e-6)
    assert (found.unit, found.n) == ("ms", 33)


def test_it_is_found_within_five_ms_through_scatter() -> None:
    found = heard(both_hands(8), Planted(lag_s=0.025, lag_noise_s=0.01, ioi_noise=0.08)).one("hands_lag")
    assert found.value == pytest.approx(25, abs=5)
    assert found.verdict == "within"


def test_speed_key_and_loudness_change_nothing() -> None:
    planted = Planted(lag_s=0.02, lag_noise_s=0.01)
    moved = Planted(lag_s=0.02, lag_noise_s=0.01, tempo_qpm=60, up=5, loudness=90)
    plain, other = (heard(both_hands(8), plan).one("hands_lag").value for plan in (planted, moved))
    assert other == pytest.approx(plain)


def test_no_verdict_under_eight_pairs() -> None:
    few = both_hands(2)
    played = play(few, Planted(lag_s=0.1, left_out=tuple(range(14, 18))), 1)
    found = look(played.take(), few.target(), following=played.following()).one("hands_lag")
    assert found.value is None
    assert found.verdict in (None, "missing")
    assert "it takes 8" in found.why_missing


def test_one_hand_alone_has_no_lag() -> None:
    assert "one hand" in heard(both_hands(4), Planted(only="L")).one("hands_lag").why_missing
    assert heard(five_fingers(4)).one("hands_lag") is None


def test_chords_in_one_hand_are_not_first_by_having_more_keys() -> None:
    right = [(float(k), 1.0, "R", 67 + k % 5) for k in range(32)]
    left = [(float(k), 1.0, "L", pitch) for k in range(32) for pitch in (48, 52, 55)]
    onset, length, hand, pitch = zip(*sorted([*right, *left]), strict=True)
    music = Music("Chords", np.array(onset), np.array(length), np.array(pitch), hand, np.arange(8) * 4.0)
    surely = 0
    for seed in range(20):
        played = play(music, Planted(onset_jitter_s=0.012), seed)
        found = look(played.take(), music.target(), following=played.following()).one("hands_lag")
        surely += not found.low <= 0 <= found.high
        assert abs(found.value) < 6
    assert surely <= 3
