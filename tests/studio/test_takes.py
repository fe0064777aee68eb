"""Takes are kept with their music, found by any clear word for them, dropped and taken back."""

from __future__ import annotations

import numpy as np
import pytest

from keysense.errors import AgreementError, AmbiguousName, StudioError, UnknownName
from keysense.studio import JournalSpan

from .conftest import a_take


def test_the_music_comes_back_as_it_went_in(studio, put):
    take = a_take(20)
    kept = studio.take_notes(put(take))
    assert np.allclose(kept.notes["onset_s"], take.notes["onset_s"], atol=1e-3)
    assert (kept.notes["pitch"] == take.notes["pitch"]).all()
    assert (kept.notes["velocity"] == take.notes["velocity"]).all()


def test_a_new_take_waits_and_says_where_it_lies_in_the_journal(studio, put):
    take = studio.take(put(journal_span=("2026-09-07.journal", 40, 900), instrument="the white piano"))
    assert (take.state, take.n, take.journal_span) == ("waiting", 8, JournalSpan("2026-09-07.journal", 40, 900))
    assert take.instrument == "the white piano"
    assert take.started_utc.tzinfo is not None


def test_ids_are_random_and_32_hex_digits(studio, put):
    ids = {put() for _ in range(5)}
    assert len(ids) == 5
    assert all(len(i) == 32 and set(i) <= set("0123456789abcdef") for i in ids)


def test_a_take_is_found_by_id_by_its_beginning_and_by_last(studio, put, clock):
    first = put()
    clock.on(minutes=1)
    second = put()
    assert studio.take(first).id == studio.take(first[:4]).id == first
    assert studio.take("last").id == second
    assert studio.take(first.upper()).id == first


@pytest.mark.parametrize("ref", ["abc", "zzzz", "", "last", "00000000"])
def test_a_ref_that_names_nothing_is_unknown(studio, ref):
    with pytest.raises(UnknownName):
        studio.take(ref)


def test_a_beginning_of_two_ids_is_asked(studio, put, monkeypatch):
    ids = iter(["abcd" + "0" * 28, "abcd" + "1" * 28])
    monkeypatch.setattr("keysense.studio.takes.new_id", lambda: next(ids))
    put(), put()
    with pytest.raises(AmbiguousName, match="abcd00000000, abcd11111111"):
        studio.take("abcd")
    assert studio.take("abcd0").id.endswith("0")


def test_dropping_hides_and_undoing_brings_back_as_it_was(studio, put):
    take = put()
    studio.drop_take(take)
    assert studio.takes() == []
    assert [t.id for t in studio.takes(state="dropped")] == [take]
    with pytest.raises(UnknownName):
        studio.take("last")
    assert studio.undo_drop().state == "waiting"
    assert [t.id for t in studio.takes()] == [take]
    with pytest.raises(StudioError, match="not dropped"):
        studio.undo_drop(take)


def test_nothing_dropped_is_nothing_to_undo(studio):
    with pytest.raises(StudioError, match="nothing was dropped"):
        studio.undo_drop()


def test_naming_a_pupil_keeps_the_take_and_carries_the_name_on(studio, put):
    pip = studio.add_pupil("Pip", agreed_by="her father", on="2026-09-01")
    cat = studio.add_piece("The Miller's Cat")
    take = studio.name_take(put(), pupil=pip.id, piece=cat.id, character="sleepy")
    assert (take.state, take.character) == ("kept", "sleepy")
    following = studio.take(put())
    assert (following.pupil_id, following.piece_id, following.state) == (pip.id, cat.id, "waiting")
    assert following.carried
    assert following.character == ""  # the next take may well be the other character
    studio.settle(following.id)
    assert studio.take(following.id).state == "kept"


def test_without_an_agreement_a_take_is_looked_at_but_not_kept(studio, put):
    pip = studio.add_pupil("Pip", agreed_by="her father", on="2026-09-01", until="2026-09-05")
    take = put()
    with pytest.raises(AgreementError, match="looked at but not kept"):
        studio.name_take(take, pupil=pip.id)
    assert studio.take(take).state == "waiting"
    assert studio.take(take).pupil_id is None
    studio.agree(pip.id, agreed_by="her father", on="2026-09-06")
    assert studio.name_take(take, pupil=pip.id).state == "kept"


def test_takes_are_listed_newest_first_and_by_pupil_piece_and_number(studio, put, clock):
    pip = studio.add_pupil("Pip", agreed_by="x", on="2026-09-01")
    cat, snail = studio.add_piece("Cat"), studio.add_piece("Snail")
    ids = []
    for piece in (cat, snail, cat):
        clock.on(minutes=2)
        ids.append(put())
        studio.name_take(ids[-1], pupil=pip.id, piece=piece.id)
    assert [t.id for t in studio.takes()] == ids[::-1]
    assert [t.id for t in studio.takes(pupil=pip.id, piece=cat.id)] == [ids[2], ids[0]]
    assert [t.id for t in studio.takes(limit=1)] == ids[2:]


def test_the_own_playing_of_the_teacher_needs_no_agreement(studio, put):
    cat = studio.add_piece("Cat")
    take = studio.mark_model(put(), cat.id)
    assert (take.state, take.is_model, take.pupil_id, take.piece_id) == ("kept", True, None, cat.id)


def test_what_is_done_together_is_kept_whole_or_not_at_all(studio, put):
    pip = studio.add_pupil("Pip", agreed_by="x", on="2026-09-01")
    with pytest.raises(AgreementError), studio.together():  # the second naming fails
        take = put()
        studio.name_take(take, pupil=pip.id)
        assert studio.take(take).state == "kept"
        studio.withdraw(pip.id)
        studio.name_take(put(), pupil=pip.id)
    assert studio.takes() == []
    assert studio.context.is_empty
    assert studio.pupil(pip.id).may_keep
    with studio.together():
        first, second = put(), put()
        studio.name_take(first, pupil=pip.id)
    assert {take.id for take in studio.takes()} == {first, second}
