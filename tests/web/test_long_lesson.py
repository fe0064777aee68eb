"""A lesson of many takes, a studio of many names: what is short, and what stands large."""

from __future__ import annotations

import re
from datetime import timedelta

import httpx

from fixtures.serving import served
from fixtures.studio_for_pages import PagesStudio, play_take
from keysense.demo.performer import Playing
from keysense.studio.studio import Studio
from keysense.web.app import create_app
from keysense.words import word
from tests.browser.conftest import Played

CALM = Playing(90, [(0, 60), (32, 66)])


def test_older_takes_have_a_line_each_and_only_the_newest_without_a_name_asks_for_one(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    music = studio.target_of(furnished.cat).target
    takes = [play_take(studio, music, CALM, seed=70 + ago, ago=timedelta(minutes=12 + ago)) for ago in range(3)]
    text = client.get("/").text
    cards = {take: text.split(f'id="card-{take}"')[1].split("</li>")[0] for take in (furnished.unnamed, *takes)}
    assert f'id="take-{furnished.unnamed}"' in cards[furnished.unnamed]
    for take in takes:
        assert f'id="take-{take}"' not in cards[take] and f'id="rename-{take}"' in cards[take]
        assert "name it" in cards[take] and f'action="/take/{take}/drop"' in cards[take]
    assert 'class="named brief"' in text and text.count('class="small quiet" for="take-') == 1


def test_of_many_pupils_and_pieces_those_of_late_are_there_to_be_tapped(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    for number in range(20):
        studio.add_pupil(f"Zoe {number}", agreed_by="mother", on="2026-09-01")
        studio.add_piece(f"Card {number}")
    text = client.get("/").text
    tapped = text.split(f'id="tap-{furnished.unnamed}"')[1].split("</form>")[0]
    assert {"Pip", "Odile", "The Miller’s Cat"} <= set(re.findall(r"<span>([^<]*)</span>", tapped))
    assert tapped.count('name="pupil"') == tapped.count('name="piece"') == 8 and word("tap.others") in tapped
    shelf = client.get("/pieces").text
    assert shelf.index(">Card 2<") < shelf.index(">Card 10<")


def test_that_nobody_listens_is_said_large_and_changes_with_the_piano(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    large = client.get("/").text.split('id="now-off"')[1].split("</section>")[0]
    now = client.get("/part/state").json()["now"]
    for said in (large, now):
        assert word("state.alone") in said and word("state.alone.more") in said and "<button" not in said
    with served(create_app(studio, Played())) as address:
        off = httpx.get(f"{address}/part/state").json()["now"]
    assert word("now.off") in off and word("now.off.free") in off and "press main" in off
