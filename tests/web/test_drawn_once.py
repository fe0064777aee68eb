"""A page that is opened again is the same page, made of what was heard and drawn before; a change of it is seen."""

from __future__ import annotations

import re

import httpx
import pytest

from fixtures.studio_for_pages import PagesStudio
from keysense.errors import StudioError
from keysense.studio.looking import beside, look_at
from keysense.studio.seen import _SEEN
from keysense.studio.studio import Studio


def test_the_same_reading_is_given_again_and_another_where_the_wish_is_another(
    studio: Studio, furnished: PagesStudio
) -> None:
    first = look_at(studio, furnished.sleepy)
    assert look_at(studio, furnished.sleepy) is first
    studio.name_take(furnished.sleepy, pupil=furnished.pip, piece=furnished.cat, character="proud")
    assert look_at(studio, furnished.sleepy) is not first


def test_a_changed_limit_makes_another_reading(studio: Studio, furnished: PagesStudio) -> None:
    first = look_at(studio, furnished.sleepy)
    studio.folder.practice.write_text("[lane_sure]\nvalue = 0.9\n", "utf-8")
    assert look_at(studio, furnished.sleepy) is not first


def test_a_pair_is_compared_once_and_afresh_where_a_limit_is_another(studio: Studio, furnished: PagesStudio) -> None:
    pair = furnished.sleepy, furnished.proud
    first = beside(studio, *pair)
    assert beside(studio, *pair) is first and beside(studio, *pair[::-1]) is not first
    studio.folder.practice.write_text("[tempo_clear]\nvalue = 90\n", "utf-8")
    assert beside(studio, *pair) is not first


def test_what_was_heard_in_an_erased_take_is_no_longer_held(studio: Studio, furnished: PagesStudio) -> None:
    beside(studio, furnished.proud, furnished.sleepy)
    assert len([key for key in _SEEN if furnished.sleepy in key]) >= 2
    studio.erase_take(furnished.sleepy)
    assert not [key for key in _SEEN if furnished.sleepy in key]
    with pytest.raises(StudioError, match="was erased"):
        look_at(studio, furnished.sleepy)


def test_a_page_opened_again_is_the_same_page_and_a_new_wish_is_seen_on_it(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    path = f"/take/{furnished.sleepy}?guess=skip&open=1"
    first = client.get(path).text
    assert client.get(path).text == first and "lane under loudness" in first
    studio.name_take(furnished.sleepy, pupil=furnished.pip, piece=furnished.cat, character="proud")
    assert client.get(path).text != first


def test_a_file_is_kept_by_the_browser_under_a_name_that_changes_with_it(client: httpx.Client) -> None:
    page = client.get("/").text
    for path in re.findall(r'(?:href|src)="(/static/[^"]+)"', page):
        answer = client.get(path)
        assert answer.status_code == 200 and "immutable" in answer.headers["cache-control"]
    assert "cache-control" not in client.get("/static/page.css").headers
    assert "immutable" not in client.get("/").headers.get("cache-control", "")


def test_presses_of_a_part_of_the_page_lead_back_to_the_page(client: httpx.Client, furnished: PagesStudio) -> None:
    part = client.get("/part/takes").text
    assert set(re.findall(r'name="back" value="([^"]*)"', part)) == {"/"}
