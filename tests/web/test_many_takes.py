"""The page of the studio and the page of one piece over many takes, as they are served."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fixtures.studio_for_pages import PagesStudio

if TYPE_CHECKING:
    import httpx


def test_the_studio_leads_to_every_pupil_s_pages(client: httpx.Client, furnished: PagesStudio) -> None:
    text = client.get("/studio").text
    assert f"/weeks/{furnished.odile}" in text and f"/spots/{furnished.pip}/{furnished.cat}" in text
    assert "never ordered or coloured" in text


def test_few_takes_are_said_to_be_few_and_an_unknown_pupil_is_nothing(
    client: httpx.Client, furnished: PagesStudio
) -> None:
    assert client.get(f"/spots/{furnished.pip}/{furnished.cat}").status_code == 200
    assert client.get(f"/spots/ffffffff/{furnished.cat}").status_code == 404


def test_a_take_leads_to_the_other_takes_of_its_tune(client: httpx.Client, furnished: PagesStudio) -> None:
    assert f"/spots/{furnished.pip}/{furnished.cat}" in client.get(f"/take/{furnished.sleepy}").text
