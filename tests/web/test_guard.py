"""Only this machine, only these pages, and nothing from outside."""

from __future__ import annotations

import re

import httpx
import pytest
from websockets.exceptions import InvalidStatus
from websockets.sync.client import connect

from fixtures.studio_for_pages import PagesStudio


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example", "localhost.evil.example:80"])
def test_another_sites_name_is_refused(client: httpx.Client, host: str) -> None:
    assert client.get("/", headers={"host": host}).status_code == 403


@pytest.mark.parametrize("host", ["127.0.0.1", "127.0.0.1:8765", "localhost:8765", "[::1]:8765", "[::1]"])
def test_this_machine_is_served_whatever_the_port(client: httpx.Client, host: str) -> None:
    assert client.get("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [{"origin": "http://evil.example"}, {"origin": "null"}, {"sec-fetch-site": "cross-site"},
     {"origin": "http://127.0.0.1:9999"}, {"sec-fetch-site": "same-site"}],
)  # fmt: skip
def test_a_press_from_another_site_does_nothing(
    client: httpx.Client, furnished: PagesStudio, headers: dict[str, str]
) -> None:
    answer = client.post(f"/take/{furnished.unnamed}/drop", headers=headers, follow_redirects=False)
    assert answer.status_code == 403
    assert "not this one" in client.get("/").text and "bring it back" not in client.get("/").text


def test_a_press_from_our_own_page_works(client: httpx.Client, furnished: PagesStudio) -> None:
    answer = client.post(
        f"/take/{furnished.unnamed}/drop", headers={"origin": str(client.base_url).rstrip("/")}, follow_redirects=False
    )
    assert answer.status_code == 303


def test_a_live_connection_from_another_site_is_refused(client: httpx.Client) -> None:
    live = str(client.base_url).replace("http", "ws") + "/live"
    with pytest.raises(InvalidStatus), connect(live, origin="http://evil.example", proxy=None):
        pass
    with pytest.raises(InvalidStatus), connect(live, proxy=None):  # no browser leaves the origin out
        pass
    with connect(live, origin=str(client.base_url).rstrip("/"), proxy=None):
        pass


def test_every_answer_forbids_what_comes_from_outside(client: httpx.Client, furnished: PagesStudio) -> None:
    for path in ("/", f"/take/{furnished.sleepy}", "/static/tokens.css", "/nothing"):
        policy = client.get(path).headers["content-security-policy"]
        assert "default-src 'none'" in policy and "http" not in policy and "*" not in policy


def test_no_page_names_an_address_outside_this_machine(client: httpx.Client, furnished: PagesStudio) -> None:
    pair = f"/beside/{furnished.sleepy}/{furnished.proud}?guess=skip"
    for path in ("/", f"/take/{furnished.sleepy}?guess=skip", pair, f"/weeks/{furnished.odile}"):
        text = client.get(path).text
        links = re.findall(r'(?:href|src|action)="([^"]*)"', text) + re.findall(r"url\(([^)]*)\)", text)
        assert not [link for link in links if "://" in link or link.startswith("//")]


@pytest.mark.parametrize("back", ["//evil.example", "https://evil.example", "/\\evil.example", "javascript:alert(1)"])
def test_a_press_never_leads_off_the_pages(client: httpx.Client, back: str) -> None:
    answer = client.post("/listening", data={"on": "no", "back": back}, follow_redirects=False)
    assert answer.headers["location"] == "/"
