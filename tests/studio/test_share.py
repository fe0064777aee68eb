"""The child's share is kept with its take or its pupil, and goes with them."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from keysense.errors import StudioError, UnknownName
from keysense.smf import take_to_smf
from keysense.studio import Studio

from .conftest import START, a_take

LINE = [0.2, 0.3, 0.8, 0.4]


def bytes_in(folder: Path) -> bytes:
    return b"".join(path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file())


@pytest.fixture
def pip(studio):
    return studio.add_pupil("Pip", agreed_by="mother", on="2026-09-01").id


@pytest.fixture
def cat(studio):
    return studio.add_piece("The Miller’s Cat").id


def kept(studio, pip, cat, *, ago=timedelta(), character="sleepy"):
    music = a_take(8)
    take = studio.add_take(music, take_to_smf(music), started_utc=studio.now() - ago)
    studio.note_again(take)
    studio.name_take(take, pupil=pip, piece=cat, character=character)
    return take


def test_the_first_guess_stands_and_a_pair_has_one_of_its_own(studio, pip, cat):
    first, second = kept(studio, pip, cat), kept(studio, pip, cat, character="proud")
    assert studio.guessed(first, "grow") is None
    assert studio.guess(first, "grow", "end") == "end"
    assert studio.guess(first, "grow", "middle") == "end"
    assert studio.guess(first, "louder", "second", beside=second) == "second"
    assert studio.guessed(first, "louder", beside=second) == "second"
    assert studio.guessed(first, "louder") is None
    assert studio.guessed(second, "grow") is None


def test_a_question_is_asked_once_a_lesson(studio, pip, cat):
    first = kept(studio, pip, cat)
    studio.guess(first, "grow", "end")
    assert studio.asked_today(studio.take(kept(studio, pip, cat)), "grow")
    assert not studio.asked_today(studio.take(first), "grow")
    assert not studio.asked_today(studio.take(kept(studio, pip, cat, character="proud")), "grow")
    assert not studio.asked_today(studio.take(kept(studio, pip, cat, ago=timedelta(days=7))), "grow")


def test_remarks_are_changed_and_taken_away(studio, pip, cat, clock):
    take, other = kept(studio, pip, cat), kept(studio, pip, cat)
    hers = studio.remark(take, "  The cat\n fell asleep. ", by="pupil")
    clock.on(seconds=1)
    studio.remark(take, "shoulder rises before the G", by="teacher")
    assert [one.said for one in studio.remarks(take)] == ["The cat fell asleep.", "shoulder rises before the G"]
    assert [one.said for one in studio.remarks(take, by="teacher")] == ["shoulder rises before the G"]
    studio.change_remark(take, hers.id, "The cat woke up.")
    assert studio.remarks(take, by="pupil")[0].said == "The cat woke up."
    studio.change_remark(take, hers.id, " ")
    assert studio.remarks(take, by="pupil") == []
    with pytest.raises(UnknownName):
        studio.change_remark(other, studio.remarks(take)[0].id, "not mine")
    with pytest.raises(StudioError, match="at least one word"):
        studio.remark(take, "  ", by="pupil")


def test_a_drawn_line_belongs_to_what_is_played_after_it_that_day(studio, pip, cat, clock):
    before = studio.take(kept(studio, pip, cat))
    clock.on(minutes=5)
    line = studio.draw_wish(pip, cat, LINE, span=(0.0, 32.0), character="sleepy")
    assert studio.drawn_wish(before) is None
    clock.on(minutes=1)
    after = studio.take(kept(studio, pip, cat))
    assert studio.drawn_wish(after) == line
    assert studio.drawn_wish(studio.take(kept(studio, pip, cat, character="proud"))) is None
    assert studio.waiting_wish(pip, cat, "sleepy") == line
    clock.on(hours=30)
    assert studio.drawn_wish(studio.take(kept(studio, pip, cat))) is None
    assert studio.waiting_wish(pip, cat, "sleepy") is None
    studio.rub_out(line.id)
    assert studio.drawn_wish(after) is None


def test_a_drawn_line_holds_until_another_wish_is_pressed(studio, pip, cat, clock):
    line = studio.draw_wish(pip, cat, LINE, span=(0.0, 16.0), character="sleepy")
    clock.on(minutes=1)
    first = kept(studio, pip, cat)
    studio.wish_again(first)  # again, and nothing else is wished: the line is still what is wanted
    clock.on(minutes=1)
    second = kept(studio, pip, cat)
    assert studio.drawn_wish(studio.take(second)) == studio.waiting_wish(pip, cat, "sleepy") == line
    studio.wish_again(second, "In bar 3, slowly: can the tune keep going?")
    assert studio.waiting_wish(pip, cat, "sleepy") is None
    clock.on(minutes=1)
    third = kept(studio, pip, cat)
    assert studio.drawn_wish(studio.take(third)) is None
    assert studio.drawn_wish(studio.take(second)) == line


@pytest.mark.parametrize("heights", [[], [0.5], [0.5, 1.2], [0.5, -0.1], [0.5, float("nan")], [0.5] * 65])
def test_a_line_that_is_none_is_refused(studio, pip, cat, heights):
    with pytest.raises(StudioError, match="draw it once more"):
        studio.draw_wish(pip, cat, heights, span=(0.0, 32.0))


def test_a_word_of_their_own_is_kept_a_character(studio, pip):
    studio.set_own_word(pip, "sleepy", word="like snow", wish="let it fall slower")
    assert studio.own_word(pip, "sleepy").word == "like snow"
    assert studio.own_word(pip, "proud").word == "" and studio.own_word(None, "sleepy").wish == ""
    studio.set_own_word(pip, "sleepy", word=" ")
    assert studio.own_word(pip, "sleepy").word == ""
    with pytest.raises(StudioError, match="belongs to a character"):
        studio.set_own_word(pip, "", word="like snow")


def test_everything_goes_with_its_take_and_its_pupil(tmp_path):
    with Studio.open(tmp_path / "studio", now=lambda: START) as studio:
        wren = studio.add_pupil("Wrenikin", agreed_by="Grandmother Ottoline", on="2026-09-01").id
        pip = studio.add_pupil("Pip", agreed_by="mother", on="2026-09-01").id
        cat = studio.add_piece("The Miller’s Cat").id
        hers, his = kept(studio, wren, cat), kept(studio, pip, cat)
        studio.remark(hers, "quartzlike sparkle", by="pupil")
        studio.remark(his, "as Wrenikin did", by="teacher")
        studio.guess(hers, "louder", "second", beside=his)
        studio.draw_wish(wren, cat, LINE, span=(0.0, 32.0), character="sleepy")
        studio.set_own_word(wren, "sleepy", word="feldsparlike", wish="like a tarn")
        studio.set_own_word(pip, "sleepy", word="as wrenikin says")
        for trace in (b"quartzlike", b"feldsparlike", b"a tarn"):
            assert trace in bytes_in(tmp_path)
        studio.erase_pupil(wren)
        for trace in (b"quartzlike", b"feldsparlike", b"a tarn", b"renikin", wren.encode()):
            assert trace not in bytes_in(tmp_path), trace
        assert studio.remarks(his)[0].said == "as … did"
        assert studio.guessed(hers, "louder", beside=his) is None
        studio.erase_take(his)
        assert b"as \xe2\x80\xa6 did" not in bytes_in(tmp_path)


def test_nothing_is_kept_without_an_agreement(studio, pip, cat):
    take = kept(studio, pip, cat)
    studio.withdraw(pip)
    for keep in (
        lambda: studio.draw_wish(pip, cat, LINE, span=(0.0, 32.0)),
        lambda: studio.set_own_word(pip, "sleepy", word="like snow"),
        lambda: studio.remark(take, "said", by="pupil"),
    ):
        with pytest.raises(StudioError):
            keep()
