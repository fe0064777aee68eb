"""Papers: a draft until somebody signs, gone with what they speak of, never leaving unsigned."""

from __future__ import annotations

from datetime import date

import pytest
from sqlalchemy import event
from sqlalchemy.dialects import postgresql

from keysense.errors import AgreementError, StudioError, UnknownName, UnsignedError
from keysense.studio import Studio

from .conftest import START, a_take
from .test_erasing import bytes_in

DAY = date(2026, 9, 7)
WORDS = {"made": "Pip played the Cat.", "home": "Ask to hear it."}


@pytest.fixture
def pip(studio):
    return studio.add_pupil("Pip", agreed_by="her father", on="2026-09-01").id


def test_a_draft_is_kept_with_its_words_and_what_it_rests_on(studio, pip):
    paper = studio.keep_paper("note", pip, DAY, WORDS, basis=["a" * 32])
    assert (paper.text, paper.basis, paper.is_signed) == (WORDS, ("a" * 32,), False)
    assert studio.paper("note", pip, DAY) == paper
    assert studio.paper("slip", pip, DAY) is None
    assert studio.paper("note", pip, date(2026, 9, 8)) is None


def test_a_draft_cannot_leave_and_a_signed_paper_can(studio, pip, clock):
    paper = studio.keep_paper("note", pip, DAY, WORDS)
    for nothing in (paper, None):
        with pytest.raises(UnsignedError, match="sign it first"):
            studio.leaving(nothing)
    clock.on(minutes=3)
    signed = studio.sign_paper(paper.id, "  Ann   Teacher ")
    assert (signed.signed_by, signed.signed_utc) == ("Ann Teacher", clock())
    assert studio.leaving(signed) is signed
    assert studio.signer == "Ann Teacher"


def test_other_words_take_the_signature_away_and_the_same_words_do_not(studio, pip):
    paper = studio.sign_paper(studio.keep_paper("note", pip, DAY, WORDS).id, "Ann")
    assert studio.keep_paper("note", pip, DAY, WORDS).is_signed
    again = studio.keep_paper("note", pip, DAY, {**WORDS, "home": "Sing it."})
    assert (again.id, again.is_signed, again.signed_by) == (paper.id, False, "")


def test_a_signed_paper_is_opened_again_as_a_draft(studio, pip):
    paper = studio.sign_paper(studio.keep_paper("slip", pip, DAY, WORDS).id, "Ann")
    assert not studio.reopen_paper(paper.id).is_signed


def test_nobody_and_nothing_signs_nothing(studio, pip):
    paper = studio.keep_paper("note", pip, DAY, WORDS)
    with pytest.raises(StudioError, match="your name"):
        studio.sign_paper(paper.id, "   ")
    empty = studio.keep_paper("slip", pip, DAY, {"wish": "  "})
    with pytest.raises(StudioError, match="nothing on this paper"):
        studio.sign_paper(empty.id, "Ann")
    with pytest.raises(UnknownName):
        studio.sign_paper("f" * 32, "Ann")


def test_no_card_today_is_a_choice_that_can_be_taken_back(studio, pip):
    none = studio.keep_paper("card", pip, DAY, {}, declined=True)
    assert none.declined and not none.is_signed
    with pytest.raises(UnsignedError):
        studio.leaving(none)
    assert not studio.reopen_paper(none.id).declined


def test_without_an_agreement_no_paper_is_kept_and_none_is_shown(studio, pip):
    paper = studio.keep_paper("note", pip, DAY, WORDS)
    studio.withdraw(pip)
    with pytest.raises(AgreementError):
        studio.keep_paper("note", pip, DAY, WORDS)
    assert studio.paper("note", pip, DAY) is None
    assert studio.papers(pip) == []
    with pytest.raises(UnknownName):
        studio.sign_paper(paper.id, "Ann")


def test_papers_of_a_pupil_stand_by_lesson_the_newest_first(studio, pip):
    for day in (DAY, date(2026, 9, 14)):
        for kind in ("slip", "note"):
            studio.keep_paper(kind, pip, day, WORDS)
    kept = [(paper.lesson_day.day, paper.kind) for paper in studio.papers(pip)]
    assert kept == [(14, "note"), (14, "slip"), (7, "note"), (7, "slip")]
    assert len(studio.papers(pip, kind="slip")) == 2


def test_an_erased_take_takes_its_drafts_along_and_leaves_what_was_signed(studio, put, pip):
    take = put()
    studio.name_take(take, pupil=pip)
    studio.keep_paper("slip", pip, DAY, WORDS, basis=[take])
    studio.sign_paper(studio.keep_paper("note", pip, DAY, WORDS, basis=[take]).id, "Ann")
    studio.erase_take(take)
    assert [(paper.kind, paper.basis) for paper in studio.papers(pip)] == [("note", ())]


def test_an_erased_pupil_is_in_no_byte_of_any_paper(tmp_path):
    with Studio.open(tmp_path / "s", now=lambda: START) as studio:
        wren = studio.add_pupil("Wrenikin", agreed_by="Ottoline", on="2026-09-01").id
        pip = studio.add_pupil("Pip", agreed_by="x", on="2026-09-01").id
        studio.sign_paper(studio.keep_paper("note", wren, DAY, {"made": "Wrenikin played marsh bells."}).id, "Ann")
        studio.keep_paper("note", pip, DAY, {"made": "A duet with wrenikin, and pipes."})
        studio.erase_pupil(wren)
        assert studio.papers(pip)[0].text == {"made": "A duet with …, and pipes."}
        studio.erase_pupil(pip)
    for trace in (b"renikin", b"marsh bells", wren.encode()):
        assert trace not in bytes_in(tmp_path), trace


def test_every_query_can_be_said_to_postgresql(studio, pip, put):
    said = []
    event.listen(studio._store.engine, "before_execute", lambda _c, clause, *_: said.append(clause))
    take = put(a_take())
    paper = studio.keep_paper("note", pip, DAY, WORDS, basis=[take])
    studio.sign_paper(paper.id, "Ann"), studio.reopen_paper(paper.id), studio.papers(pip, kind="note")
    studio.paper("note", pip, DAY), studio.erase_take(take)
    papers = [clause for clause in said if hasattr(clause, "compile") and "paper" in str(clause)]
    assert len(papers) >= 6
    for clause in papers:
        assert str(clause.compile(dialect=postgresql.dialect()))
