"""The marks of the heard lane: where the following is unsure of a note, that and nothing else is said."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fixtures.studio_for_pages import SCORES
from keysense.demo.performer import Playing, perform
from keysense.engraving import engrave
from keysense.findings import Reading, look
from keysense.messages import normalise
from keysense.plots.marks import note_marks
from keysense.plots.under import drawn_from, lane_under
from keysense.practice import read_practice
from keysense.targets import read_target


@pytest.fixture
def reading() -> Reading:
    target = read_target(SCORES / "millers_cat_marked.musicxml")
    playing = Playing(90, [(0, 50), (60, 90)], other={5: 64})
    return look(normalise(perform(target, playing, 3)), target)


def doubted(reading: Reading, *rows: int, confidence: float = 0.4) -> Reading:
    """The same reading, with less confidence in the pairs of these rows of the target."""
    pairs = reading.following.pairs.copy()
    for row in rows:
        pairs["confidence"][pairs["target"] == row] = confidence
    return replace(reading, following=replace(reading.following, pairs=pairs))


def test_a_clear_take_has_no_doubt(reading: Reading) -> None:
    assert [mark.name for mark in note_marks(reading)] == ["other"]


def test_a_doubted_note_says_cant_tell_and_nothing_else(reading: Reading) -> None:
    row = next(int(pair["target"]) for pair in reading.following.pairs if pair["kind"] == "substitution")
    marks = note_marks(doubted(reading, row))
    assert [mark.name for mark in marks] == ["unsure"]
    assert "can’t tell" in marks[0].title and not marks[0].letter
    system = engrave(reading.target, width=1440).systems[0]
    lane = lane_under(drawn_from(doubted(reading, row)), system, 1.0)
    assert "can’t tell" in lane and "another note sounded" not in lane and ">?<" in lane


def test_the_limit_stands_in_the_table_of_practice(reading: Reading) -> None:
    limit = read_practice().value("lane_sure")
    for confidence, names in ((limit + 0.01, ["other"]), (limit - 0.01, ["unsure", "other"])):
        found = [mark.name for mark in note_marks(doubted(reading, 0, confidence=confidence))]
        assert sorted(found) == sorted(names)
    assert [mark.name for mark in note_marks(doubted(reading, 0), sure=0.1)] == ["other"]


def test_a_note_not_heard_between_doubted_ones_is_doubted_too(reading: Reading) -> None:
    rows = sorted(int(row) for row in reading.following.pairs["target"] if row >= 0)
    gone, before, after = rows[10], rows[9], rows[11]
    pairs = reading.following.pairs[reading.following.pairs["target"] != gone]
    following = replace(reading.following, pairs=pairs, omitted=reading.following.omitted.__class__((1,), "i4"))
    following.omitted[0] = gone
    missing = replace(reading, following=following)
    assert "gap" in [mark.name for mark in note_marks(missing)]
    names = [mark.name for mark in note_marks(doubted(missing, before, after))]
    assert "gap" not in names and names.count("unsure") == 3
