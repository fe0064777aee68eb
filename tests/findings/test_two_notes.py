"""Two notes with one touch: the planted one is found, whatever the key, and three trials are needed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fixtures.make.listening import heard
from fixtures.make.music import both_hands, gate_posts
from fixtures.make.player import Planted, play
from keysense.findings import look

PLAN = Planted(upper_s=0.012, upper_loudness=-9, onset_jitter_s=0.002, touch_noise=2)
POSTS = gate_posts()


def test_the_planted_touch_is_found_within_two() -> None:
    # computed: 12 ms and 9 units are to be found within 2 ms and 2 units
    reading = heard(POSTS, PLAN)
    gap, loudness = reading.one("two_note_touch_gap", "R"), reading.one("two_note_touch_loudness", "R")
    assert gap.value == pytest.approx(12, abs=2)
    assert loudness.value == pytest.approx(-9, abs=2)
    assert (gap.n, gap.unit, loudness.unit) == (8, "ms", "velocity")
    assert gap.verdict == "within"
    assert reading.one("two_note_touch_release").value == pytest.approx(0, abs=8)


def test_of_the_left_hand_the_little_finger_is_below() -> None:
    left = replace(POSTS, hand=("L",) * len(POSTS))
    assert heard(left, PLAN).one("two_note_touch_gap", "L").value == pytest.approx(-12, abs=2)


def test_speed_key_and_loudness_change_nothing() -> None:
    plain = heard(POSTS, PLAN)
    moved = heard(POSTS, replace(PLAN, tempo_qpm=150, up=3, loudness=80))
    for name in ("two_note_touch_gap", "two_note_touch_loudness"):
        assert moved.one(name).value == pytest.approx(plain.one(name).value, abs=1e-6)


def test_two_trials_are_too_few() -> None:
    played = play(POSTS, replace(PLAN, left_out=tuple(range(4, 16))), 1)
    found = look(played.take(), POSTS.target(), following=played.following()).one("two_note_touch_gap")
    assert found.value is None
    assert "takes 3" in found.why_missing


def test_single_notes_are_no_such_touch() -> None:
    assert heard(both_hands(4)).one("two_note_touch_gap") is None
