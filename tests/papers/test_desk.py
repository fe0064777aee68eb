"""From a furnished studio to papers: gathered from what was kept, edited, signed, set aside."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from fixtures.studio_for_pages import NOW, PagesStudio, furnish
from keysense.errors import StudioError, UnknownName
from keysense.papers import as_text, decline, desk, keep, lesson_of, sign
from keysense.studio import Studio


@pytest.fixture(scope="module")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Studio, PagesStudio]]:
    with Studio.open(tmp_path_factory.mktemp("papers") / "studio", now=lambda: NOW) as studio:
        yield studio, furnish(studio, weeks=2)


def test_a_lesson_is_the_last_day_on_which_anything_was_kept(furnished: tuple[Studio, PagesStudio]) -> None:
    studio, there = furnished
    pip, odile = lesson_of(studio, there.pip), lesson_of(studio, there.odile)
    assert (pip.day, [one.character for one in pip.played]) == (date(2026, 11, 24), ["sleepy", "proud"])
    assert pip.pair is not None and pip.pair.names == ("sleepy", "proud")
    assert set(pip.pair.came) >= {"quicker", "louder"}
    assert (odile.day, odile.pair, odile.played[0].is_warmup) == (date(2026, 11, 17), None, True)
    assert lesson_of(studio, there.odile, date(2026, 11, 10)).played != odile.played
    assert lesson_of(studio, there.odile, date(2026, 11, 11)).played == ()
    with pytest.raises(UnknownName):
        lesson_of(studio, "f" * 32)


def test_the_draft_tells_this_lesson_and_is_not_kept_by_looking(furnished: tuple[Studio, PagesStudio]) -> None:
    studio, there = furnished
    said = as_text(desk(studio, "note", there.pip))
    assert "The Miller’s Cat in two characters, sleepy and proud" in said.replace("\n", " ")
    assert said.rstrip().endswith("A draft, not signed.")
    assert "Tuesday 24 November 2026" in said
    assert all(len(line) <= 72 for line in said.splitlines())
    assert studio.papers(there.pip) == []


def test_edited_signed_changed_and_a_draft_again(furnished: tuple[Studio, PagesStudio]) -> None:
    studio, there = furnished
    on = desk(studio, "note", there.pip)
    paper = sign(studio, on, {"made": "We made two cats."}, "Ann")
    assert paper.text["home"] == on.text["home"]  # what was not touched stays
    assert set(paper.basis) == {there.sleepy, there.proud}
    signed = desk(studio, "note", there.pip)
    assert signed.is_signed and "Signed: Ann" in as_text(signed) and "We made two cats." in as_text(signed)
    assert not keep(studio, signed, {"made": "We made three cats."}).is_signed


def test_a_paper_that_is_too_long_is_not_signed_and_nothing_is_lost(furnished: tuple[Studio, PagesStudio]) -> None:
    studio, there = furnished
    on = desk(studio, "slip", there.pip)
    with pytest.raises(StudioError, match="at most 80"):
        sign(studio, on, {"wish": "sing " * 90}, "Ann")
    assert studio.paper("slip", there.pip, on.lesson.day) is None


def test_no_card_today_is_kept_as_a_choice(furnished: tuple[Studio, PagesStudio]) -> None:
    studio, there = furnished
    decline(studio, desk(studio, "card", there.pip))
    none = desk(studio, "card", there.pip)
    assert none.is_declined and "No card today." in as_text(none)
    assert none.text["came"] == "You wanted it to grow, and it grew."  # ready if it is wanted after all


def test_nobodys_paper_is_kept_without_an_agreement(tmp_path: Path) -> None:
    with Studio.open(tmp_path / "s", now=lambda: NOW) as studio:
        there = furnish(studio, weeks=0)
        studio.withdraw(there.pip)
        assert desk(studio, "note", there.pip).lesson.played == ()
        with pytest.raises(StudioError, match="no agreement covers"):
            keep(studio, desk(studio, "note", there.pip), {"made": "x"})


def test_what_the_pupil_said_stands_in_the_draft_and_what_the_teacher_said_does_not(
    furnished: tuple[Studio, PagesStudio],
) -> None:
    studio, there = furnished
    latest = studio.takes(pupil=there.odile, state="kept")[0].id
    studio.remark(latest, "The cat fell asleep in bar eight.", by="pupil")
    studio.remark(latest, "shoulder rises", by="teacher")
    said = as_text(desk(studio, "note", there.odile)).replace("\n", " ")
    assert "The cat fell asleep in bar eight." in said and "shoulder" not in said
    for remark in studio.remarks(latest):
        studio.change_remark(latest, remark.id, "")
