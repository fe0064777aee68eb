"""Marks by hand in a studio: kept with the piece, taken back by one press, and heard in the takes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from fixtures.studio_for_pages import SCORES, play_take
from keysense.demo.performer import Playing
from keysense.errors import StudioError, TargetError
from keysense.studio.gathering import gather
from keysense.studio.looking import look_at
from keysense.studio.studio import Studio
from keysense.targets import read_target
from keysense.targets.marking import Marking
from keysense.targets.target import Target

END = Marking("phrase", (4, 3.0), (4, 3.0))
GROWS = Marking("crescendo", (5, 1.0), (6, 3.0), "sleepy")
ASLEEP = Playing(68, [(0, 40), (16, 40), (22, 84), (32, 60)], hold=0.95, unsteady=0.015, breaths={16.0: 0.6})


@pytest.fixture
def cat(studio: Studio) -> str:
    """The Miller's Cat without any mark that tells of phrases or loudness."""
    return add(studio)


def plain() -> Target:
    music = read_target(SCORES / "millers_cat.musicxml")
    return replace(music, marks=(), phrases=music.phrases[:0])


def played(studio: Studio, cat: str, character: str = "") -> str:
    pupil = studio.add_pupil("Pip", agreed_by="mother", on="2026-09-01").id
    take = play_take(studio, plain(), ASLEEP, seed=5)
    studio.name_take(take, pupil=pupil, piece=cat, character=character)
    return take


def test_a_phrase_end_that_was_marked_is_where_a_breath_is_looked_for(studio: Studio, cat: str) -> None:
    take = played(studio, cat)
    before = {finding.name: finding for finding in look_at(studio, take).findings}
    assert before["breath"].value is None
    studio.mark(cat, END)
    after = {finding.name: finding for finding in look_at(studio, take).findings}
    assert after["breath"].value == 1 and after["breath"].n == 1
    assert after["breath"].places[0].bars == (4, 4)


def test_a_hairpin_in_the_sleepy_layer_is_looked_for_in_sleepy_takes_alone(studio: Studio, cat: str) -> None:
    take = played(studio, cat, "sleepy")
    assert not [f for f in look_at(studio, take).findings if f.name == "rise"]
    studio.mark(cat, GROWS)
    (rise,) = [f for f in look_at(studio, take).findings if f.name == "rise" and f.place.hand == "R"]
    assert rise.value is not None and rise.low is not None and rise.low > 0 and rise.place.bars == (5, 6)
    studio.name_take(take, character="proud")
    assert not [f for f in look_at(studio, take).findings if f.name == "rise"]


def test_one_press_takes_the_last_thing_back_whatever_it_was(studio: Studio, cat: str) -> None:
    assert not studio.can_undo_mark(cat)
    studio.mark(cat, END)
    studio.mark(cat, GROWS)
    studio.mark(cat, END)  # the same again rubs it out
    assert [one.kind for one in studio.markings(cat)] == ["crescendo"]
    studio.undo_mark(cat)
    assert [one.kind for one in studio.markings(cat)] == ["phrase", "crescendo"]
    studio.undo_mark(cat)
    studio.undo_mark(cat)
    assert studio.markings(cat) == [] and studio.target_of(cat).target.to_json() == plain().to_json()
    with pytest.raises(StudioError, match="nothing to take back"):
        studio.undo_mark(cat)


def test_marks_before_anything_was_heard_share_a_version_and_what_was_heard_keeps_its_own(
    studio: Studio, cat: str
) -> None:
    take = played(studio, cat)
    studio.mark(cat, END)
    marked = studio.mark(cat, GROWS)
    assert marked.version == 2
    look_at(studio, take)
    assert studio.mark(cat, Marking("guide", (1, 1.0), (1, 1.0), pitch=60)).version == 3
    assert studio.target(marked.id).target.marks


def test_a_new_file_of_the_piece_keeps_the_marks_and_says_which_found_no_note(studio: Studio, cat: str) -> None:
    studio.mark(cat, END)
    studio.mark(cat, Marking("guide", (8, 1.0), (8, 1.0), pitch=60))
    music = plain()
    shorter = replace(music, notes=music.notes[music.notes["bar"] < 8])
    studio.add_target(cat, shorter)
    target = studio.target_of(cat).target
    assert len(target.notes) == len(shorter.notes) and len(target.phrases) == 2
    assert [one.kind for one in studio.lost_markings(cat)] == ["guide"]
    studio.add_target(cat, plain())
    assert not studio.lost_markings(cat)
    assert {mark.kind for mark in studio.target_of(cat).target.marks} == {"breath", "guide"}


def test_what_fits_nowhere_changes_nothing(studio: Studio, cat: str) -> None:
    with pytest.raises(TargetError):
        studio.mark(cat, Marking("phrase", (40, 1.0), (40, 1.0)))
    assert studio.markings(cat) == [] and studio.target_of(cat).version == 1
    with pytest.raises(StudioError, match="not there any more"):
        studio.rub_mark(cat, "0" * 32)


def test_marks_that_came_from_another_studio_are_laid_over_the_music_here(
    studio: Studio, cat: str, tmp_path: Path
) -> None:
    with Studio.open(tmp_path / "elsewhere", now=studio.now) as elsewhere:
        elsewhere.mark(add(elsewhere), GROWS)
    gather(studio, tmp_path / "elsewhere")
    assert [one.kind for one in studio.markings(cat)] == ["crescendo"]
    assert "crescendo" in {mark.kind for mark in studio.target_of(cat).target.marks}


def add(studio: Studio) -> str:
    piece = studio.add_piece("The Cat")
    studio.add_target(piece.id, plain())
    return piece.id
