"""Chords that were spread on purpose."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from fixtures.make.music import chords
from fixtures.make.player import Planted, play
from keysense.findings import Reading, look
from keysense.following.following import PAIR, Following
from keysense.notes import Take
from keysense.targets import read_target
from keysense.words import say_for_teacher

MUSIC = chords("Eight", ["C4+E4+G4"] * 8)


def with_delays(late_s: np.ndarray) -> Reading:
    """Each written note later by its own delay."""
    played = play(MUSIC, Planted(tempo_qpm=60), 1)
    played.onset_s[:] = played.onset_s + late_s.reshape(-1)[played.row]
    return look(played.take(), MUSIC.target(), following=played.following())


@pytest.mark.parametrize(("late", "how"), [((0, 0.05, 0.1), "up"), ((0.1, 0.05, 0), "down")])
def test_two_planted_spread_chords_are_found_with_their_way(late: tuple[float, ...], how: str) -> None:
    delays = np.zeros((8, 3))
    delays[[2, 5]] = late
    found = with_delays(delays).one("chords_rolled")
    assert (found.value, found.n) == (2, 8)
    assert [(place.bars, place.how) for place in found.places] == [((1, 1), how), ((2, 2), how)]


def test_keys_out_of_order_are_no_spread_chord() -> None:
    delays = np.tile([0.1, 0.0, 0.05], (8, 1))
    assert with_delays(delays).one("chords_rolled") is None


def test_professional_chords_as_wide_as_computed_are_seldom_spread_ones() -> None:
    # computed: 12,323 professional chords spread 31 ms in the median and 69 ms at the 95th percentile
    late = np.abs(np.random.default_rng(3).normal(0, 0.026, (8, 3)))
    assert np.median(np.ptp(late, axis=1)) == pytest.approx(0.031, abs=0.012)
    assert with_delays(late).one("chords_rolled") is None


def test_a_chord_written_to_be_spread_is_told_apart() -> None:
    """Of the signs of MusicXML 4.0 (arpeggiate): two played so and two not, and one chord spread unasked."""
    target = read_target(Path(__file__).parents[2] / "fixtures/scores/spread_chords.musicxml")
    notes = target.notes
    at = dict.fromkeys((0.0, 1.0, 6.0), 0.06)  # the chord at 2, and the left hand, are struck at once
    above = np.array([np.sum((notes["onset_quarter"] == n["onset_quarter"]) & (notes["hand"] == n["hand"])
                             & (notes["pitch"] < n["pitch"])) for n in notes])  # fmt: skip
    late = np.array([at.get(float(quarter), 0.0) for quarter in notes["onset_quarter"]]) * (notes["hand"] == "R")
    onset = notes["onset_quarter"] + above * late + 1
    order = np.argsort(onset, kind="stable")
    take = Take.from_notes(onset_s=onset[order], release_s=onset[order] + 0.9, pitch=notes["pitch"][order],
                           velocity=np.full(len(notes), 64))  # fmt: skip
    pairs = np.array([(k, row, 0, "match", 1.0) for k, row in enumerate(order.tolist())], PAIR)
    played = {"first_bar": 1, "last_bar": 2, "first_played": 0, "last_played": len(order) - 1}
    found = look(take, target, following=Following(pairs, np.zeros(0, np.int32), [played], {}, None, 1.0, False))
    asked, own = found.one("chords_rolled_as_written"), found.one("chords_rolled")
    assert (asked.value, asked.n, [place.how for place in asked.places]) == (2, 4, ["up", "up"])
    assert (own.value, own.places[0].bars) == (1, (1, 1))
    assert say_for_teacher(asked).startswith("2 chords spread as written")
