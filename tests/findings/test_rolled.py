"""Chords that were spread on purpose."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.make.music import chords
from fixtures.make.player import Planted, play
from keysense.findings import Reading, look

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
