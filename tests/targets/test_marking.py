"""Marks by hand: where they stand, what becomes of them in repeats and in a new file, what is refused."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from keysense.errors import TargetError
from keysense.targets.marking import Marking, marked, place_at, read_place, say_place
from keysense.targets.target import Mark, Target


def sixteen(**more: object) -> Target:
    """Four bars of four quarters, one note each; the second half is in the left hand."""
    return Target.from_notes(
        onset_quarter=np.arange(16), duration_quarter=np.ones(16), pitch=60 + np.arange(16), hand=["R"] * 8 + ["L"] * 8,
        **more,
    )  # fmt: skip


def test_a_place_is_read_as_it_is_said() -> None:
    for text in ("4.1", "4.2.5", "12.3"):
        assert say_place(read_place(text)) == text
    assert read_place("4") == (4, 1.0)
    for text in ("", "x", "4.0", "4.x", "4.-1"):
        with pytest.raises(TargetError, match="write the bar, a dot"):
            read_place(text)
    assert place_at(sixteen(), 6.5) == (2, 3.5)


def test_the_end_of_a_phrase_is_a_breath_and_an_edge_of_the_phrases() -> None:
    target = marked(sixteen(), [Marking("phrase", (2, 4.0), (2, 4.0))])
    (breath,) = target.marks
    assert (breath.kind, breath.start_quarter, breath.note_ids, breath.layer) == ("breath", 8.0, ("n7",), "")
    assert target.phrases.tolist() == [[0, 8], [8, 16]]


def test_in_a_characters_layer_it_is_a_breath_of_that_character_alone() -> None:
    target = marked(sixteen(), [Marking("phrase", (2, 4.0), (2, 4.0), layer="sleepy")])
    assert len(target.phrases) == 0
    assert not target.marks_asked("proud") and target.marks_asked("sleepy")[0].kind == "breath"


def test_an_end_that_the_page_has_is_taken_away() -> None:
    page = sixteen(phrases=[[0, 8], [8, 16]], marks=[Mark("breath", 8.0, 8.0, "breath-b2-1")])
    target = marked(page, [Marking("no phrase", (2, 4.0), (2, 4.0))])
    assert not target.marks and len(target.phrases) == 0


def test_a_hairpin_lasts_to_the_end_of_its_last_note_and_is_for_the_hand_it_is_given_to() -> None:
    target = marked(sixteen(), [Marking("crescendo", (1, 1.0), (2, 2.0), "sleepy", "R")])
    (mark,) = target.marks
    assert (mark.kind, mark.start_quarter, mark.end_quarter, mark.hand) == ("crescendo", 0.0, 6.0, "R")
    assert mark.note_ids == tuple(f"n{k}" for k in range(6))


def test_of_a_chord_the_guide_note_is_the_one_that_was_tapped() -> None:
    chord = Target.from_notes(onset_quarter=[0, 0, 1], duration_quarter=[1, 1, 1], pitch=[60, 64, 67])
    (mark,) = marked(chord, [Marking("guide", (1, 1.0), (1, 1.0), pitch=64)]).marks
    assert (mark.kind, mark.note_ids) == ("guide", ("n1",))


def test_where_a_bar_is_played_twice_the_mark_holds_twice() -> None:
    four = Target.from_notes(
        onset_quarter=np.arange(16), duration_quarter=np.ones(16), pitch=[*range(60, 68)] * 2,
        bars_quarter=[0, 4, 8, 12],
    )  # fmt: skip
    bars = four.bars.copy()
    bars["number"] = [1, 2, 1, 2]
    twice = replace(four, bars=bars)
    target = marked(twice, [Marking("crescendo", (1, 1.0), (2, 1.0)), Marking("phrase", (2, 4.0), (2, 4.0))])
    assert [(m.start_quarter, m.end_quarter) for m in target.marks if m.kind == "crescendo"] == [(0, 5), (8, 13)]
    assert target.phrases.tolist() == [[0, 8], [8, 16]]


@pytest.mark.parametrize(
    ("marking", "why"),
    [
        (Marking("phrase", (2, 1.5), (2, 1.5)), "no note begins at 2.1.5"),
        (Marking("phrase", (9, 1.0), (9, 1.0)), "no note begins at 9.1"),
        (Marking("phrase", (4, 4.0), (4, 4.0)), "ends with the tune"),
        (Marking("crescendo", (1, 1.0), (1, 1.0)), "two notes"),
        (Marking("crescendo", (2, 1.0), (1, 1.0)), "earlier note first"),
        (Marking("crescendo", (1, 1.0), (8, 1.0)), "no note begins at 8.1"),
    ],
)
def test_what_fits_nowhere_is_refused_in_words(marking: Marking, why: str) -> None:
    with pytest.raises(TargetError, match=why):
        marked(sixteen(), [marking])


def test_a_kind_that_is_none_is_refused() -> None:
    with pytest.raises(TargetError, match="no mark"):
        Marking("slur", (1, 1.0), (1, 1.0))  # type: ignore[arg-type]
