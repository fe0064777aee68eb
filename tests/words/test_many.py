"""Many takes in words: figures for the teacher, none for the child, a cause for nobody."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from fixtures.make.many import Piano, Reader, random_card, read_card, survey_take
from keysense.comparing.sight import CLASSES, Paused, SightReading, first_sight
from keysense.comparing.spots import KINDS, PieceSpot, Spot, Spots
from keysense.finding import Finding
from keysense.findings.heard import Heard
from keysense.practice import read_practice
from keysense.survey import hear_survey
from keysense.words.many import (
    how_to_survey,
    say_piece_spot,
    say_sight,
    say_sight_to_child,
    say_spot,
    say_spots_to_child,
    say_survey,
)
from keysense.words.table_child import FORBIDDEN
from keysense.words.table_many import MANY

TECHNICAL = ("ioi", "port", "recipe", "interval", "velocity", "none", "nan", "_", "{")


def for_a_child(said: str) -> bool:
    low = said.lower()
    return not re.search(r"\d", said) and not any(
        re.search(rf"(?<![a-z]){re.escape(w)}(?![a-z])", low) for w in FORBIDDEN
    )


def test_a_spot_names_its_bar_beat_takes_and_kinds() -> None:
    spot = Spot(21.0, 6, 1.0, 4, 6, {"waited": 3, "another note": 1})
    assert say_spot(spot, newest=4) == "Bar 6, beat 2: waited and another note, in 4 of 6 takes."
    assert say_piece_spot(PieceSpot(6, 3, 4)) == "Bar 6 is a known tricky spot of this piece: 3 of 4 pupils."


WORDS = dict(zip(KINDS, ("waited", "another note", "not heard", "went back", "put right", "struck again"), strict=True))


@pytest.mark.parametrize(("kind", "said"), WORDS.items())
def test_whatever_came_at_a_spot_has_its_word(kind: str, said: str) -> None:
    assert say_spot(Spot(0.0, 1, 0.0, 4, 6, {kind: 4}), newest=4) == f"Bar 1, beat 1: {said}, in 4 of 6 takes."


def test_a_spot_between_two_beats_is_told_without_fractions() -> None:
    spot = Spot(5 + 1 / 3, 2, 1 + 1 / 3, 4, 6, {"waited": 4})
    assert say_spot(spot, newest=4).startswith("Bar 2, after beat 2: waited")


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("quarter", [0.0, 15.0, 31.0])
@pytest.mark.parametrize("state", ["there", "gone"])
def test_a_child_hears_one_thing_without_figures(kind: str, quarter: float, state: str) -> None:
    said = say_spots_to_child(Spots((Spot(quarter, 1, 0.0, 4, 6, {kind: 4}, state),), 6, 32), 32.0)
    assert for_a_child(said) and said[-1] in ".?"


def test_a_place_that_went_is_told_by_what_had_come_there_and_after_the_place_that_stands_in_the_picture() -> None:
    went = Spot(4.0, 2, 0.0, 4, 9, {"another note": 4}, "gone")
    waits = Spot(10.0, 3, 2.0, 5, 9, {"waited": 5})
    alone = say_spots_to_child(Spots((went,), 9, 32), 32.0)
    assert "somewhere else" in alone and "wait" not in alone
    both = say_spots_to_child(Spots((went, waits), 9, 32), 32.0)
    assert both.startswith("The tune waited in the first part.") and for_a_child(both)
    assert "somewhere else in another place near it" in both
    late = say_spots_to_child(Spots((waits, replace(went, quarter=30.0)), 9, 32), 32.0)
    assert late.startswith("The tune waited in the first part.") and "in the last part. Now" in late


def test_no_spot_and_too_few_takes_are_said_to_a_child() -> None:
    assert for_a_child(say_spots_to_child(Spots((), 6, 32), 32.0))
    assert for_a_child(say_spots_to_child(Spots((), 1, 32, None, "it takes 3 takes, and 1 came"), 32.0))


@pytest.mark.parametrize("name", CLASSES)
@pytest.mark.parametrize("word", ["waited", "went on", "can't tell"])
def test_every_class_can_be_said_to_both_readers(name: str, word: str) -> None:
    known = Paused(name, Finding(f"pause_{name}", 31, "%", 12, 9, 55), word)  # type: ignore[arg-type]
    unknown = Paused(name, Finding.missing(f"pause_{name}", "%", "two came"), "can't tell")
    for paused in (known, unknown):
        reading = SightReading(3, 48, (paused,))
        for said in say_sight(reading):
            assert said[-1] == "." and not any(part in said.lower() for part in TECHNICAL), said
        assert for_a_child(say_sight_to_child(reading))
    assert not any("because" in said for said in say_sight(SightReading(3, 48, (known,))))


def test_what_was_waited_for_is_told_first_and_the_cause_is_left_to_the_teacher() -> None:
    practice = read_practice()
    heard = []
    for k in range(4):
        played = read_card(random_card(28, k), Reader(0.15, {"leap": 2.0}), k)
        heard.append(Heard(played.take(), played.music.target(), played.following(), practice))
    said = say_sight(first_sight(heard))
    assert said[0] == "From 4 cards."
    assert said[1].startswith("Waited before leaps: ")
    assert "yours to see" in said[-1]


@pytest.mark.parametrize("piano", [
    Piano(bias={"low": -12.0}, pair_lag_s=0.01, step_ms=4), Piano(fixed=64, pedal=()), Piano(pedal=(0, 127, 0, 127)),
])  # fmt: skip
def test_a_survey_is_told_in_sentences(piano: Piano) -> None:
    for said in say_survey(hear_survey(survey_take(piano, 1, stray=2))):
        assert said[-1] in ".?" and said[0].isupper()
        assert not any(part in said.lower() for part in TECHNICAL if part not in ("port", "none")), said


def test_the_script_is_five_lines_and_says_what_then() -> None:
    assert len(how_to_survey()) == 6
    assert how_to_survey()[-1].endswith("keysense survey last")


def test_no_row_for_children_holds_a_forbidden_word_or_a_figure() -> None:
    for key, text in MANY.items():
        if key.startswith(("child.", "spots.part.")):
            assert for_a_child(text), key


def test_a_pause_on_both_sides_of_nothing_is_told_as_about_as_long() -> None:
    pauses = {"went on": (-22.0, -30.0, -13.0), "about": (-3.7, -21.0, 18.0), "can't tell": (8.0, -31.0, 47.0)}
    said = []
    for name, (value, low, high) in pauses.items():
        finding = Finding("pause_leap", value, "%", 12, low, high)
        word = "went on" if name == "about" else name
        said.append(say_sight(SightReading(3, 48, (Paused("leap", finding, word),)))[1])  # type: ignore[arg-type]
    assert said[0] == (
        "Went on before leaps: 22 in a hundred shorter than before other notes, likely between 13 and 30, from 12 such "
        "notes."
    )
    assert said[1].startswith("About as long before leaps") and "between 21 shorter and 18 longer" in said[1]
    assert said[2].startswith("Can’t tell before leaps") and "between 31 shorter and 47 longer" in said[2]
