"""Pupils, their agreements, and names that are forgiven or asked about."""

from __future__ import annotations

from datetime import date

import pytest

from keysense.errors import AgreementError, AmbiguousName, StudioError, UnknownName
from keysense.studio.tables import Base


def test_a_pupil_has_a_nickname_and_an_agreement(studio):
    pip = studio.add_pupil("  Pip ", agreed_by="her father", on="2026-09-01")
    assert (pip.nickname, pip.agreed_by, pip.agreed_on, pip.may_keep) == ("Pip", "her father", date(2026, 9, 1), True)
    assert studio.pupils() == [pip]


def test_no_birth_date_can_be_kept():
    columns = {column.name for table in Base.metadata.tables.values() for column in table.columns}
    assert not {name for name in columns if "birth" in name or "age" in name.split("_")}


@pytest.mark.parametrize(
    ("on", "said"), [("yesterday", "no date"), ("2026-13-01", "no date"), ("2027-01-01", "still to come")]
)
def test_an_agreement_needs_a_day_that_has_been(studio, on, said):
    with pytest.raises(AgreementError, match=said):
        studio.add_pupil("Pip", agreed_by="x", on=on)
    assert studio.pupils() == []


def test_an_agreement_needs_somebody_who_gave_it(studio):
    with pytest.raises(AgreementError, match="agreed-by"):
        studio.add_pupil("Pip", agreed_by=" ", on="2026-09-01")


def test_an_agreement_runs_out_and_is_renewed(studio, clock):
    pip = studio.add_pupil("Pip", agreed_by="x", on="2026-09-01", until="2026-09-10")
    assert studio.pupil(pip.id).may_keep
    clock.on(days=4)
    assert not studio.pupil(pip.id).may_keep
    assert studio.agree(pip.id, agreed_by="x", on="2026-09-11").may_keep


def test_an_agreement_to_share_does_not_let_takes_be_kept(studio):
    assert not studio.add_pupil("Pip", agreed_by="x", on="2026-09-01", purpose="share").may_keep


def test_two_children_need_two_nicknames(studio):
    studio.add_pupil("Pip", agreed_by="x", on="2026-09-01")
    with pytest.raises(StudioError, match="another nickname"):
        studio.add_pupil("pip", agreed_by="y", on="2026-09-01")
    with pytest.raises(StudioError, match="nickname"):
        studio.add_pupil(" - ", agreed_by="y", on="2026-09-01")


def test_names_are_forgiven_and_ties_are_asked(studio):
    for name in ("Anna", "Anne", "Marek"):
        studio.add_pupil(name, agreed_by="x", on="2026-09-01")
    assert studio.find_pupil("merek").nickname == "Marek"
    assert studio.find_pupil("ANNA").nickname == "Anna"
    with pytest.raises(AmbiguousName, match="Anna, Anne"):
        studio.find_pupil("ann")
    with pytest.raises(UnknownName, match="Anna, Anne, Marek"):
        studio.find_pupil("Zoltan")
    with pytest.raises(UnknownName):
        studio.find_pupil("")


def test_pieces_are_found_by_part_of_their_title(studio):
    for title in ("The Miller's Cat", "Snail at the Gate", "Gate Posts"):
        studio.add_piece(title)
    assert studio.find_piece("millers").title == "The Miller's Cat"
    assert studio.find_piece("snale at the gate").title == "Snail at the Gate"
    with pytest.raises(AmbiguousName, match="Gate Posts"):
        studio.find_piece("gate")
    with pytest.raises(StudioError, match="another title"):
        studio.add_piece("the millers cat")


def test_once_an_agreement_is_taken_back_the_next_take_is_not_taken_for_that_child(studio, put):
    pip = studio.add_pupil("Pip", agreed_by="x", on="2026-09-01")
    studio.name_take(put(), pupil=pip.id)
    studio.withdraw(pip.id)
    assert studio.take(put()).pupil_id is None


def test_a_nickname_is_mended_and_all_stays_where_it_was(studio):
    pip = studio.add_pupil("Pipp", agreed_by="x", on="2026-09-01")
    studio.add_pupil("Juno", agreed_by="y", on="2026-09-01")
    assert studio.call_pupil(pip.id, " Pip ").nickname == "Pip" and studio.find_pupil("pip").id == pip.id
    assert studio.call_pupil(pip.id, "PIP").nickname == "PIP"  # one's own name is nobody else's
    with pytest.raises(StudioError, match="another nickname"):
        studio.call_pupil(pip.id, "juno")
    with pytest.raises(StudioError, match="nickname"):
        studio.call_pupil(pip.id, "  ")
    with pytest.raises(UnknownName):
        studio.call_pupil("0" * 32, "Pip")
    assert studio.pupil(pip.id).may_keep
