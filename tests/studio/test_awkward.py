"""Awkward realities as a studio meets them; what the findings make of others stands in tests/findings."""

from __future__ import annotations

from datetime import timedelta

import pytest
from keysense.dashboards._doubts import question_about

from fixtures.make.awkward import CASES, shown_then_played
from fixtures.make.music import millers_cat
from fixtures.make.player import Planted, play
from keysense.errors import AgreementError
from keysense.smf import take_to_smf
from keysense.studio import Studio
from keysense.studio.doubting import answer_shown
from keysense.studio.looking import heard, look_at

CAT = millers_cat()


@pytest.fixture
def cat(studio: Studio) -> str:
    piece = studio.add_piece("Cat").id
    studio.add_target(piece, CAT.target())
    return piece


def put(studio: Studio, take, ago_s: float = 0.0) -> str:
    return studio.add_take(take, take_to_smf(take), started_utc=studio.now() - timedelta(seconds=ago_s))


def test_row_10_all_that_hangs_on_a_take_goes_with_it_to_another_pupil(studio: Studio, cat: str) -> None:
    pip = studio.add_pupil("Pip", agreed_by="mother", on="2026-09-01").id
    odile = studio.add_pupil("Odile", agreed_by="father", on="2026-09-01").id
    take = put(studio, play(CAT, Planted(ioi_noise=0.05), 1).take())
    studio.name_take(take, pupil=pip, piece=cat, character="sleepy")
    look_at(studio, take)
    studio.guess(take, "grow", "end")
    studio.remark(take, "like a bell", by="pupil")
    findings = studio.reading(take).findings
    studio.name_take(take, pupil=odile)
    assert studio.takes(pupil=pip) == [] and [one.id for one in studio.takes(pupil=odile)] == [take]
    assert studio.reading(take).findings == findings
    assert studio.weeks_of(pip, cat, "tempo") == [] and len(studio.weeks_of(odile, cat, "tempo")) == 1
    assert studio.guessed(take, "grow") == "end" and studio.remarks(take)[0].said == "like a bell"
    log = "".join(file.read_text("utf-8") for file in studio.folder.log.iterdir())
    assert log.count("was named") == 2 and "Pip" not in log
    studio.erase_pupil(pip)
    assert studio.reading(take).findings == findings  # nothing of it was left with the first


def test_row_13_a_phrase_that_was_shown_first_is_asked_about_and_never_given_to_the_pupil(
    studio: Studio, cat: str
) -> None:
    pip = studio.add_pupil("Pip", agreed_by="mother", on="2026-09-01").id
    take = put(studio, shown_then_played(CASES[13].music, 0.02, 0.16, 0))
    studio.name_take(take, pupil=pip, piece=cat)
    heard(studio, take)
    asked = question_about(studio, take)
    assert asked["kind"] == "shown" and "Did you show it first?" in asked["said"]
    assert studio.take(take).n == 28  # nothing is decided
    left = answer_shown(studio, take, mine=True)
    assert left.n == 14 and left.pupil_id == pip
    assert [one.id for one in studio.takes(pupil=pip)] == [left.id]
    assert studio.doubts(left.id) == []
    again = put(studio, shown_then_played(CASES[13].music, 0.02, 0.16, 1), 300)
    studio.name_take(again, pupil=pip, piece=cat)
    heard(studio, again)
    assert answer_shown(studio, again, mine=False).n == 28
    heard(studio, again)
    assert studio.doubts(again) == []


def test_row_34_an_agreement_taken_back_hides_at_once_whoever_gave_another(studio: Studio, cat: str) -> None:
    pip = studio.add_pupil("Pip", agreed_by="mother", on="2026-09-01").id
    take = put(studio, play(CAT, Planted(), 1).take())
    studio.name_take(take, pupil=pip, piece=cat)
    studio.agree(pip, agreed_by="father", on="2026-09-02")
    studio.withdraw(pip)  # one of two guardians is enough
    assert studio.takes(pupil=pip) == []
    with pytest.raises(AgreementError):
        studio.name_take(put(studio, play(CAT, Planted(), 2).take()), pupil=pip, piece=cat)


def test_row_40_without_an_agreement_a_take_waits_and_is_wiped(studio: Studio, cat: str, clock) -> None:
    pip = studio.add_pupil("Pip", agreed_by="mother", on="2026-09-01", until="2026-09-30").id
    clock.on(days=30)
    take = put(studio, play(CAT, Planted(), 1).take())
    with pytest.raises(AgreementError, match="looked at but not kept"):
        studio.name_take(take, pupil=pip, piece=cat)
    assert studio.take(take).state == "waiting"
    clock.on(hours=25)
    studio.wipe_due()
    assert studio.takes() == []
