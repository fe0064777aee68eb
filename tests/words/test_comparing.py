"""Two takes in words: alike is said where it is known, and a child is never told so of a guess nobody can judge."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fixtures.make.listening import heard
from fixtures.make.music import millers_cat
from fixtures.make.player import Planted
from keysense.comparing import Comparison, compare
from keysense.comparing.characters import WISHES
from keysense.words.comparing import louder, say_dimension, say_guess

NAMES = ("sleepy", "proud")
NOISE = {"ioi_noise": 0.06, "touch_noise": 6, "hold_noise": 0.08}


def pair(**change) -> Comparison:
    music = millers_cat()
    return compare(heard(music, Planted(**NOISE), 1), heard(music, Planted(**(NOISE | change)), 2))


def told(comparison: Comparison, **change) -> Comparison:
    """The same with other things known of its loudness."""
    rows = (replace(one, **change) if one.name == "loudness" else one for one in comparison.dimensions)
    return replace(comparison, dimensions=tuple(rows))


def test_what_differs_what_is_alike_and_what_nobody_can_tell_are_three_things() -> None:
    plain, loud = pair(), pair(loudness=84)
    assert say_dimension(loud.one("loudness"), NAMES) == "Proud was the louder one."
    assert say_dimension(plain.one("loudness"), NAMES) == "Both were about as loud as each other."
    unsure = told(loud, way=None, outcome=None).one("loudness")
    assert say_dimension(unsure, NAMES) == f"Can’t tell whether the two differ, from {unsure.a.n} notes."
    tempo = replace(plain.one("tempo"), way=None)
    assert say_dimension(tempo, NAMES).endswith(f"from {tempo.a.n} steps.")
    breath = replace(plain.one("breath"), way=None)
    assert say_dimension(breath, NAMES).endswith("from one phrase end.")


@pytest.mark.parametrize("dimension", WISHES)
def test_a_wish_that_did_not_come_is_told_so_where_nothing_else_is_known(dimension: str) -> None:
    one = pair().one(dimension)
    for wish in WISHES[dimension]:
        open_wish = replace(one, wish=wish, wish_b=wish, outcome="asked, not yet heard", way=None)
        said = say_dimension(open_wish, NAMES)
        assert said.startswith("Proud ") and "not clearly" in said
        assert "oth " not in say_dimension(replace(open_wish, outcome="can't tell yet"), NAMES)
        assert say_dimension(replace(open_wish, way="same"), NAMES).startswith(("Both", "In both"))


@pytest.mark.parametrize(("way", "who"), [("up", "second"), ("down", "first"), ("same", "alike"), (None, None)])
def test_a_guess_is_answered_by_what_is_known(way: str | None, who: str | None) -> None:
    comparison = told(pair(), way=way, outcome=None)
    assert louder(comparison) == who
    for guess in ("first", "second", "alike"):
        said = say_guess(comparison, guess, NAMES)
        assert ("can’t tell yet" in said) == (who is None)
        assert ("I heard them alike" in said) == (who == "alike")
        assert ("too" in said) == (guess == who)
