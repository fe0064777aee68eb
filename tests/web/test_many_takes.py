"""The page of the studio and the page of one piece over many takes, as they are served."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from fixtures.studio_for_pages import PROUD, PagesStudio, play_take

if TYPE_CHECKING:
    import httpx

    from keysense.studio.studio import Studio


def test_the_studio_leads_to_every_pupil_s_pages(client: httpx.Client, furnished: PagesStudio) -> None:
    text = client.get("/studio").text
    assert f"/weeks/{furnished.odile}" in text and f"/spots/{furnished.pip}/{furnished.cat}" in text
    assert "never ordered or coloured" in text


def test_one_of_two_hundred_is_found_by_a_name_short_or_misspelt(
    client: httpx.Client, studio: Studio, furnished: PagesStudio
) -> None:
    assert 'role="search"' not in client.get("/studio").text  # two are found at a look
    for first in ("Abel", "Bruno", "Dunja", "Gesine", "Hanno", "Jorun", "Kaya", "Lore"):
        for letter in "KLM":
            studio.add_pupil(f"{first} {letter}", agreed_by="mother", on="2026-09-01")

    def rows(typed: str) -> list[str]:
        text = client.get("/studio", params={"whose": typed}).text
        return re.findall(r"<h2><a [^>]*>([^<]+)</a></h2>", text)

    assert 'role="search"' in client.get("/studio").text
    assert rows("dun") == rows("Dumja") == ["Dunja K", "Dunja L", "Dunja M"]
    assert rows("gesine l") == ["Gesine L"]
    assert rows("odlie") == ["Odile"]
    nobody = client.get("/studio", params={"whose": "xqz<b>"}).text
    assert "Nobody here is called anything like" in nobody and "<b>" not in nobody and "Kaya M" in nobody


def test_few_takes_are_said_to_be_few_and_an_unknown_pupil_is_nothing(
    client: httpx.Client, furnished: PagesStudio
) -> None:
    assert client.get(f"/spots/{furnished.pip}/{furnished.cat}").status_code == 200
    assert client.get(f"/spots/ffffffff/{furnished.cat}").status_code == 404


def test_a_take_leads_to_the_other_takes_of_its_tune(client: httpx.Client, furnished: PagesStudio) -> None:
    assert f"/spots/{furnished.pip}/{furnished.cat}" in client.get(f"/take/{furnished.sleepy}").text


def test_takes_beside_each_other_are_reached_from_the_studio_and_from_a_take(
    client: httpx.Client, furnished: PagesStudio
) -> None:
    assert f"/overnight/{furnished.odile}" in client.get("/studio").text
    assert f"/overnight/{furnished.pip}" in client.get(f"/take/{furnished.sleepy}").text
    for path in ("overnight", "sight", "manners"):
        answer = client.get(f"/{path}/{furnished.odile}")
        assert answer.status_code == 200
        assert client.get(f"/{path}/ffffffff").status_code == 404
    assert "first sight" in client.get(f"/sight/{furnished.odile}").text
    assert "play-in" in client.get(f"/model/{furnished.sleepy}").text  # there is no playing of the teacher’s own


def test_a_take_beside_the_teacher_s_own_playing(client: httpx.Client, furnished: PagesStudio, studio: Studio) -> None:
    mine = play_take(studio, studio.target_of(furnished.cat).target, PROUD, seed=77)
    studio.mark_model(mine, furnished.cat)
    assert f"/model/{furnished.sleepy[:12]}" in client.get(f"/take/{furnished.sleepy}").text
    text = client.get(f"/model/{furnished.sleepy}").text
    assert "the teacher’s" in text and "Only the shape is compared" in text
