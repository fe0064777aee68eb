"""Which piece is this?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from keysense.following import recognise
from keysense.following.recognise import Cut
from keysense.notes import Take
from keysense.targets.target import Target
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


def moved(piece: Target, by: int) -> Target:
    notes = piece.notes.copy()
    notes["pitch"] += by
    return replace(piece, notes=notes)


def test_a_piece_that_fits_only_in_another_key_is_the_less_likely_one() -> None:
    for seed in range(8):
        take = first_notes(seed, 16, seed).take
        found = recognise(take, [moved(SHELF[seed], 5), SHELF[seed]])
        assert found.ranked[0].index == 1
        assert found.decided == 1


def test_a_piece_played_in_another_key_is_named_all_the_same() -> None:
    named = 0
    for seed in range(16):
        take = disturb.plain(moved(SHELF[seed % 8], 3), np.random.default_rng(seed))
        found = recognise(take.sorted(take.presses[:24]).take, SHELF)
        assert found.ranked[0].index == seed % 8
        named += found.decided == seed % 8
    assert named >= 15


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


def test_a_longer_take_of_a_tune_that_is_not_there_is_asked_about() -> None:
    named = 0
    for seed in range(24):
        other = disturb.plain(tunes.piece(5_000 + seed, bars=16, hands=1 + seed % 2), np.random.default_rng(seed))
        named += recognise(other.sorted(other.presses[:48]).take, SHELF).decided is not None
    assert named <= 3


def tune_of(pitches: list[int]) -> Target:
    n = len(pitches)
    return Target.from_notes(onset_quarter=np.arange(n), duration_quarter=np.ones(n), pitch=pitches)


@pytest.mark.parametrize("rests", [(), (24,)])
def test_where_the_end_of_one_tune_fits_the_beginning_of_the_next_a_silence_parts_them(
    rests: tuple[int, ...],
) -> None:
    walk = np.random.default_rng(4)
    one, other = ((60 + np.cumsum(walk.choice([-2, -1, 1, 2], 24))).tolist() for _ in range(2))
    for k in range(1, 5):
        for first, second in ((one, one[-k:] + other), (one[:-k] + other[:k], other)):  # fits too late, too early
            step = np.full(len(first) + len(second), 0.5)
            step[24] += 0.7
            onset = np.cumsum(step)
            take = Take.from_notes(
                onset_s=onset, release_s=onset + 0.45, pitch=first + second, velocity=np.full(len(onset), 64)
            )
            cut = recognise(take, [*SHELF, tune_of(first), tune_of(second)], rests=rests).cut
            assert cut == Cut(len(SHELF), len(SHELF) + 1, 24)


def test_nothing_to_go_by() -> None:
    assert recognise(first_notes(0, 0, 0).take, SHELF).decided is None
    assert recognise(first_notes(0, 16, 0).take, []).ranked == ()
