"""What a take sounds like beside what it is called: asked, answered by a person, never decided."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

import numpy as np
import pytest

from fixtures.studio_for_pages import SCORES
from keysense.demo.performer import Playing, perform
from keysense.errors import StudioError
from keysense.messages import normalise
from keysense.notes import Take
from keysense.smf import take_to_smf
from keysense.studio import Studio
from keysense.studio.doubting import answer_cut, answer_piece, answer_pupil
from keysense.studio.looking import heard
from keysense.targets import read_target

CALM = Playing(90, [(0, 60), (32, 66)])


@dataclass(frozen=True)
class There:
    pip: str
    odile: str
    cat: str
    stairs: str


@pytest.fixture
def there(studio: Studio) -> There:
    """Pip plays the cat, Odile the stairs."""
    pip = studio.add_pupil("Pip", agreed_by="mother", on="2026-09-01").id
    odile = studio.add_pupil("Odile", agreed_by="mother", on="2026-09-01").id
    ids = []
    for title, file in (
        ("The Miller’s Cat", "millers_cat_marked"),
        ("Up and Down the Stairs", "up_and_down_the_stairs"),
    ):
        ids.append(studio.add_piece(title).id)
        studio.add_target(ids[-1], read_target(SCORES / f"{file}.musicxml"))
    made = There(pip, odile, *ids)
    for pupil, piece in ((pip, made.cat), (odile, made.stairs)):
        take = play(studio, notes_of(studio, piece, 1), ago_min=30)
        studio.name_take(take, pupil=pupil, piece=piece)
        heard(studio, take)
        assert studio.doubts(take) == []
    studio.set_context()
    return made


def notes_of(studio: Studio, piece: str, seed: int) -> Take:
    return normalise(perform(studio.target_of(piece).target, CALM, seed))


def play(studio: Studio, take: Take, ago_min: float = 0.0) -> str:
    return studio.add_take(take, take_to_smf(take), started_utc=studio.now() - timedelta(minutes=ago_min))


def test_a_take_called_by_another_piece_is_asked_about_and_a_yes_renames_it(studio: Studio, there: There) -> None:
    take = play(studio, notes_of(studio, there.stairs, 5))
    studio.name_take(take, pupil=there.pip, piece=there.cat)
    heard(studio, take)
    (doubt,) = studio.doubts(take)
    assert (doubt.kind, doubt.body) == ("piece", {"sounds": there.stairs, "named": there.cat})
    assert studio.take(take).piece_id == there.cat, "nothing is decided"
    answer_piece(studio, take, sounds=True)
    assert studio.take(take).piece_id == there.stairs and studio.doubts(take) == []
    reading = studio.reading(take)
    assert reading is not None and not reading.lost
    with pytest.raises(StudioError, match="answered already"):
        answer_piece(studio, take, sounds=False)


def test_a_no_keeps_the_name_and_is_not_asked_again(studio: Studio, there: There) -> None:
    take = play(studio, notes_of(studio, there.stairs, 6))
    studio.name_take(take, pupil=there.pip, piece=there.cat)
    heard(studio, take)
    answer_piece(studio, take, sounds=False)
    heard(studio, take)
    assert studio.take(take).piece_id == there.cat and studio.doubts(take) == []


def test_a_right_name_raises_no_question(studio: Studio, there: There) -> None:
    for piece in (there.cat, there.stairs):
        take = play(studio, notes_of(studio, piece, 8))
        studio.name_take(take, pupil=there.pip, piece=piece)
        heard(studio, take)
        assert studio.doubts(take) == []


def test_what_another_pupil_plays_is_asked_of_a_carried_name(studio: Studio, there: There) -> None:
    studio.set_context(pupil=there.pip, piece=there.cat)
    take = play(studio, notes_of(studio, there.stairs, 9))
    heard(studio, take)
    kinds = {doubt.kind: doubt.body for doubt in studio.doubts(take)}
    assert kinds["pupil"] == {"pupil": there.pip, "others": [there.odile], "piece": there.stairs}
    assert studio.take(take).state == "waiting", "it waits for an answer"
    answer_pupil(studio, take, there.odile)
    now = studio.take(take)
    assert (now.state, now.pupil_id, now.piece_id) == ("kept", there.odile, there.stairs)
    assert studio.doubts(take) == []


def two_tunes(studio: Studio, there: There) -> tuple[str, int]:
    a, b = notes_of(studio, there.cat, 3), notes_of(studio, there.stairs, 4)
    late = b.notes.copy()
    for name in ("onset_s", "release_s"):
        late[name] += a.duration_s + 1.2
    return play(studio, Take(np.concatenate([a.notes, late]), a.pedals, a.meta)), len(a)


def test_two_tunes_in_one_are_asked_about_and_parted_within_a_note(studio: Studio, there: There) -> None:
    take, border = two_tunes(studio, there)
    studio.name_take(take, pupil=there.pip, piece=there.cat, character="sleepy")
    heard(studio, take)
    doubt = next(doubt for doubt in studio.doubts(take) if doubt.kind == "cut")
    assert (doubt.body["first"], doubt.body["second"]) == (there.cat, there.stairs)
    assert abs(doubt.body["note"] - border) <= 1
    parts = answer_cut(studio, take, split=True)
    assert [(part.piece_id, part.character) for part in parts] == [(there.cat, "sleepy"), (there.stairs, "")]
    for part in parts:
        reading = studio.reading(part.id)
        assert reading is not None and not reading.lost and studio.doubts(part.id) == []
    assert studio.undo_cut(parts[0].id)[0].id == take


def test_two_tunes_may_be_left_as_one(studio: Studio, there: There) -> None:
    take, _ = two_tunes(studio, there)
    studio.name_take(take, pupil=there.pip, piece=there.cat)
    heard(studio, take)
    assert [one.id for one in answer_cut(studio, take, split=False)] == [take]
    heard(studio, take)
    assert "cut" not in [doubt.kind for doubt in studio.doubts(take)]


def test_again_keeps_after_which_take_and_with_what_wish(studio: Studio, there: There) -> None:
    first = play(studio, notes_of(studio, there.cat, 1), ago_min=2)
    studio.name_take(first, pupil=there.pip, piece=there.cat, character="sleepy")
    studio.wish_again(first, "Can it grow?")
    second = play(studio, notes_of(studio, there.cat, 2))
    studio.note_again(second)
    heard(studio, second)
    now = studio.take(second)
    assert (now.state, now.pupil_id, now.piece_id, now.character) == ("kept", there.pip, there.cat, "sleepy")
    assert studio.played_before(second) == (first, "Can it grow?")
    assert studio.played_before(first) is None
    studio.set_context(pupil=there.pip)
    third = play(studio, notes_of(studio, there.cat, 3))
    studio.note_again(third)
    assert studio.played_before(third) is None, "something else was said since"
    studio.drop_take(first)
    assert studio.played_before(second) is None


def test_no_question_speaks_of_a_pupil_who_was_erased(studio: Studio, there: There) -> None:
    studio.set_context(pupil=there.pip, piece=there.cat)
    take = play(studio, notes_of(studio, there.stairs, 9))
    heard(studio, take)
    assert there.odile in str([doubt.body for doubt in studio.doubts(take)])
    studio.erase_pupil(there.odile)
    assert there.odile not in str([doubt.body for doubt in studio.doubts(take)])
    studio.close()
    held = b"".join(path.read_bytes() for path in studio.folder.root.rglob("*") if path.is_file())
    assert there.odile.encode() not in held
