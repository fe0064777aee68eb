"""Two kept takes of one tune beside each other, and the takes of a day taken together."""

from __future__ import annotations

import pytest

from keysense.errors import StudioError
from keysense.notes import Take
from keysense.studio.looking import beside
from tests.studio.tunes import TUNE, played, tune


def test_two_characters_of_one_tune_side_by_side(lesson, put):
    sleepy, proud = put(played(0.75, 45, 1.02)), put(played(0.4, 90, 0.5, seed=2))
    lesson.name_take(sleepy, pupil=lesson.pip, piece=lesson.cat, character="sleepy")
    lesson.name_take(proud, pupil=lesson.pip, piece=lesson.cat, character="proud")
    both = beside(lesson, sleepy, proud)
    assert both.one("tempo").outcome == "asked and heard"
    assert both.one("loudness").outcome == "asked and heard"
    assert both.wants_a.word == "sleepy"


def test_takes_of_two_pieces_are_not_set_side_by_side(lesson, put):
    other = lesson.add_piece("Snail").id
    lesson.add_target(other, tune(version=4))
    a, b = put(played()), put(played())
    lesson.name_take(a, pupil=lesson.pip, piece=lesson.cat)
    lesson.name_take(b, pupil=lesson.pip, piece=other)
    with pytest.raises(StudioError, match="two pieces"):
        beside(lesson, a, b)


def test_the_takes_of_a_day_are_taken_together_where_the_piece_is_short(lesson, put, clock):
    short = lesson.add_piece("Snail").id
    lesson.add_target(short, tune(len(TUNE) - 8))

    def kept(character: str, seed: int, piece: str = short) -> str:
        whole = played(seed=seed)
        take = put(Take(whole.notes[:8], whole.pedals, whole.meta) if piece == short else whole)
        lesson.name_take(take, pupil=lesson.pip, piece=piece, character=character)
        return take

    kept("sleepy", 1)
    clock.on(days=7)
    sleepy = [kept("sleepy", seed) for seed in (2, 3, 4)]
    proud = [kept("proud", seed) for seed in (5, 6)]
    assert beside(lesson, sleepy[0], proud[1]).takes == (3, 2)
    assert beside(lesson, sleepy[0], sleepy[1]).takes == (1, 1)
    long = [kept(character, seed, lesson.cat) for character, seed in (("sleepy", 7), ("sleepy", 8), ("proud", 9))]
    assert beside(lesson, long[0], long[2]).takes == (1, 1)
