"""Which piece is this?"""

from __future__ import annotations

import numpy as np

from keysense.following import recognise
from tests.bench import disturb, tunes

SHELF = [tunes.piece(900 + k, bars=6, hands=1 + k % 2) for k in range(8)]


def first_notes(index: int, n: int, seed: int) -> disturb.Playing:
    """The first notes of a piece, with 23 % other pitches."""
    rng = np.random.default_rng(seed)
    playing = disturb.other_pitch(disturb.plain(SHELF[index], rng), rng, 0.23)
    return playing.sorted(playing.presses[:n])


def test_sixteen_notes_name_the_piece_and_never_another() -> None:
    named = 0
    for seed in range(24):
        found = recognise(first_notes(seed % 8, 16, seed).take, SHELF)
        assert found.ranked[0].index == seed % 8
        assert found.decided in (None, seed % 8)
        named += found.decided is not None
    assert named >= 23


def test_eight_notes_are_asked_about_however_well_they_fit() -> None:
    for seed in range(16):
        plain = disturb.plain(SHELF[seed % 8], np.random.default_rng(seed))
        found = recognise(plain.sorted(plain.presses[:8]).take, SHELF)
        assert found.ranked[0].index == seed % 8
        assert found.decided is None


def test_two_tunes_in_one_take_are_cut_between_them() -> None:
    rng = np.random.default_rng(0)
    first, second = disturb.plain(SHELF[1], rng).presses, disturb.plain(SHELF[4], rng).presses.copy()
    by = first["onset_s"].max() + 1.5 - second["onset_s"].min()
    second["onset_s"] += by
    second["release_s"] += by
    found = recognise(disturb.Playing(SHELF[1], np.concatenate([first, second])).take, SHELF)
    assert found.decided is None
    assert found.cut is not None
    assert (found.cut.first, found.cut.second) == (1, 4)
    assert abs(found.cut.played - len(first)) <= 1


def test_nothing_to_go_by() -> None:
    assert recognise(first_notes(0, 0, 0).take, SHELF).decided is None
    assert recognise(first_notes(0, 16, 0).take, []).ranked == ()
