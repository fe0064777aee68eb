"""What the pedal did."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fixtures.make.listening import heard
from fixtures.make.music import Music, both_hands, five_fingers
from fixtures.make.player import Planted, play
from keysense.findings import look
from keysense.notes import PEDAL
from keysense.words import say_for_teacher

LONG = both_hands(8)
PLAN = Planted(pedal_s=(0.03, 0.11), lag_s=0.0)


def test_planted_press_and_release_are_found_after_the_nearest_key() -> None:
    reading = heard(LONG, PLAN)
    assert reading.one("pedal_press").value == pytest.approx(110, abs=1)
    assert reading.one("pedal_release").value == pytest.approx(30, abs=1)
    assert reading.one("pedal_press").n == 9
    assert 80 < reading.one("pedal_share").value < 100
    assert reading.one("pedal_through").value == 0


def test_key_and_loudness_change_nothing() -> None:
    plain, moved = heard(LONG, PLAN), heard(LONG, replace(PLAN, up=5, loudness=90))
    for name in ("pedal_press", "pedal_release", "pedal_share"):
        assert moved.one(name).value == pytest.approx(plain.one(name).value)


def test_without_the_controller_nothing_is_said_at_all() -> None:
    assert not [f for f in heard(LONG).findings if f.name.startswith("pedal")]
    never = play(LONG, Planted(), 1).take()
    below = np.array([(1.0, 64, 40), (2.0, 64, 0)], PEDAL)  # half-pedal below the threshold
    reading = look(type(never)(never.notes, below, never.meta), LONG.target())
    assert not [f for f in reading.findings if f.name.startswith("pedal")]


def test_few_movements_are_missing_but_the_share_is_known() -> None:
    reading = heard(LONG, Planted(pedal=True))
    assert "takes 6" in reading.one("pedal_press").why_missing
    assert reading.one("pedal_share").value == pytest.approx(100, abs=0.1)


def test_a_pedal_kept_down_into_another_bass_is_told_with_its_bar() -> None:
    # common practice, no source: the pedal is changed with the harmony
    played = play(five_fingers(2), Planted(tempo_qpm=60), 1)
    music = replace(played.music, bar_starts=np.array([0.0, 3.0, 7.0, 12.0]))
    pedals = np.array([(0.2, 64, 127), (3.1, 64, 0), (3.3, 64, 127)], PEDAL)  # changed at bar 2 only
    take = played.take()
    found = look(type(take)(take.notes, pedals, take.meta), music.target(), following=played.following())
    through = found.one("pedal_through")
    assert through.value == 2
    assert [place.bars for place in through.places] == [(3, 3), (4, 4)]


def test_the_keys_own_times_are_never_the_pedals() -> None:
    plain, pedalled = heard(LONG), heard(LONG, Planted(pedal=True))
    assert np.array_equal(plain.take.notes["release_s"], pedalled.take.notes["release_s"])
    assert plain.one("hands_lag").value == pedalled.one("hands_lag").value


def test_a_bass_that_is_held_is_the_bass_of_the_bar_and_no_tune_above_it() -> None:
    tune = [(float(k), 1.0, "R", 60 + (5 * k) % 12) for k in range(16)]
    bass = [(4.0 * bar, 4.0, "L", pitch) for bar, pitch in enumerate((36, 36, 43, 41))]
    onset, length, hand, pitch = zip(*sorted([*tune, *bass]), strict=True)
    music = Music("Held", np.array(onset), np.array(length), np.array(pitch), hand, np.arange(4) * 4.0)
    played = play(music, Planted(tempo_qpm=60), 1)
    pedals = np.array([(0.2, 64, 127), (8.1, 64, 0), (8.3, 64, 127)], PEDAL)  # changed at bar 3, kept into bar 4
    take = played.take()
    found = look(type(take)(take.notes, pedals, take.meta), music.target(), following=played.following())
    through = found.one("pedal_through")
    assert (through.value, through.n) == (1, 2)
    assert "bar 4" in say_for_teacher(through)
