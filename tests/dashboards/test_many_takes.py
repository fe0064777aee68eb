"""The studio by what is open, never by what was heard; one place for the child, counts for the teacher."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from keysense.dashboards import spots, studio
from keysense.dashboards._lesson import still_open

from fixtures.studio_for_pages import NOW, SLEEPY, PagesStudio, Playing, furnish, play_take
from keysense.papers import wish_key
from keysense.studio.looking import look_at
from keysense.studio.studio import Studio


@pytest.fixture
def room(tmp_path: Path) -> Iterator[tuple[Studio, PagesStudio]]:
    with Studio.open(tmp_path / "studio", now=lambda: NOW) as opened:
        yield opened, furnish(opened, weeks=1)


def test_a_pupil_with_something_open_stands_before_the_others(room: tuple[Studio, PagesStudio]) -> None:
    opened, there = room
    apart = play_take(opened, opened.target_of(there.cat).target, Playing(76, [(0, 50), (32, 52)], hold=0.6), seed=5,
                      ago=timedelta(minutes=2))  # fmt: skip
    opened.name_take(apart, pupil=there.pip, piece=there.cat, character="sleepy")
    look_at(opened, apart)
    asking, quiet = studio.page(opened).panels[:2]
    assert [row["nickname"] for row in asking.content["rows"]] == ["Pip"]
    (left_open,) = asking.content["rows"][0]["said"]  # the same as on the page of the lesson
    assert left_open in still_open(opened, there.pip)[0].content["said"]
    assert [row["nickname"] for row in quiet.content["rows"]] == ["Odile"]
    opened.remember(wish_key(there.pip), {"said": "Can the notes hold hands?"})
    assert studio.page(opened).panels[0].content["rows"][0]["said"] == [("", "Can the notes hold hands?")]


def test_a_pupil_without_agreement_is_to_be_seen_to(room: tuple[Studio, PagesStudio]) -> None:
    opened, there = room
    opened.withdraw(there.odile)
    opened.agree(there.pip, agreed_by="mother", on=NOW.date(), until=NOW.date() + timedelta(days=20))
    (rows,) = (panel.content["rows"] for panel in studio.page(opened).panels if panel.kind == "seeto")
    assert [row["href"].split("?")[0] for row in rows] == [f"/kept/{there.odile}"] and "Odile" in rows[0]["said"]


def test_an_agreement_that_ends_before_long_is_to_be_seen_to(room: tuple[Studio, PagesStudio]) -> None:
    opened, _ = room
    ends = {"Juno": 20, "Marek": 60}
    for nickname, days in ends.items():
        opened.add_pupil(nickname, agreed_by="mother", on="2026-09-01", until=NOW.date() + timedelta(days=days))
    (rows,) = (panel.content["rows"] for panel in studio.page(opened).panels if panel.kind == "seeto")
    assert len(rows) == 1 and "The agreement for Juno ends on" in rows[0]["said"]


def test_two_takes_are_too_few_for_a_place(room: tuple[Studio, PagesStudio]) -> None:
    opened, there = room
    page = spots.page(opened, there.pip, there.cat)
    assert not [panel for panel in page.panels if panel.kind == "place"]
    assert "tell yet" in page.folded_panels()[0].content["said"][0]


def test_a_planted_place_is_shown_to_the_child_without_a_figure(room: tuple[Studio, PagesStudio]) -> None:
    opened, there = room
    music = opened.target_of(there.cat).target
    for day in (2, 3, 4):  # each of them waits before the same note, and another note sounds at one place
        take = play_take(opened, music, SLEEPY, seed=60 + day, ago=timedelta(days=day))
        opened.name_take(take, pupil=there.pip, piece=there.cat, character="sleepy")
    page = spots.page(opened, there.pip, there.cat)
    said, place, *_ = page.open_panels()
    assert not any(letter.isdigit() for letter in said.content["said"])
    assert place.kind == "place" and place.content["spot"].takes >= 3
    assert all("of" in said for _, said in page.folded_panels()[0].content["rows"])
