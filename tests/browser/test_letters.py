"""Names with letters beyond the first 256 are set in the pages' own faces, fetched only where they are needed."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import Browser, Page

from fixtures.serving import served
from fixtures.studio_for_pages import NOW, furnish
from keysense.export import export_take
from keysense.studio.studio import Studio
from keysense.web.app import create_app

if TYPE_CHECKING:
    from tests.browser.conftest import Lesson

pytestmark = pytest.mark.browser

NAMES = ("Łucja", "Žofie", "Zoë", "Ağça", "Győző")


def faces_of(page: Page, selector: str) -> set[str]:
    """The faces in which the browser really drew the words of one element, as it tells its own tools."""
    tools = page.context.new_cdp_session(page)
    tools.send("DOM.enable")
    tools.send("CSS.enable")
    root = tools.send("DOM.getDocument")["root"]["nodeId"]
    node = tools.send("DOM.querySelector", {"nodeId": root, "selector": selector})["nodeId"]
    used = tools.send("CSS.getPlatformFontsForNode", {"nodeId": node})["fonts"]
    return {font["familyName"].split()[0] for font in used if font["glyphCount"]} | {
        "not ours" for font in used if not font["isCustomFont"]
    }


@pytest.mark.parametrize("nickname", NAMES)
def test_a_name_is_set_in_the_pages_own_faces(browser: Browser, tmp_path: Path, nickname: str) -> None:
    with Studio.open(tmp_path / "studio", now=lambda: NOW) as studio:
        pupil = studio.add_pupil(nickname, agreed_by="mother", on="2026-09-01").id
        with served(create_app(studio)) as address:
            page = browser.new_page()
            page.goto(f"{address}/weeks/{pupil}")
            page.evaluate("document.fonts.ready.then(() => true)")
            assert nickname in page.locator("h1").inner_text()
            assert faces_of(page, "h1") == {"Vollkorn"}
            page.evaluate("document.querySelector('h1').style.fontFamily = 'Andika'")
            page.evaluate("document.fonts.load('1rem Andika', document.querySelector('h1').textContent)")
            assert faces_of(page, "h1") == {"Andika"}
            page.close()


def test_further_letters_are_not_fetched_where_none_is(open_page: Callable[..., Page], lesson: Lesson) -> None:
    page = open_page(f"/take/{lesson.there.sleepy}?guess=skip&open=1")
    page.evaluate("document.fonts.ready.then(() => true)")
    fetched = page.evaluate("performance.getEntriesByType('resource').map(e => e.name)")
    assert any("andika-latin-400" in url for url in fetched)
    assert not [url for url in fetched if "latin-ext" in url]


def test_a_file_that_stands_alone_carries_them_only_for_a_name_that_has_one(tmp_path: Path) -> None:
    carried = []
    for nickname in ("Zoë", "Łucja"):
        with Studio.open(tmp_path / nickname, now=lambda: NOW) as studio:
            there = furnish(studio, weeks=0)
            pupil = studio.add_pupil(nickname, agreed_by="mother", on="2026-09-01").id
            studio.name_take(there.unnamed, pupil=pupil, piece=there.cat)
            file = export_take(studio, there.unnamed, tmp_path / f"{nickname}.html")
            carried.append(len(re.findall(r"url\(data:font/woff2", file.read_text("utf-8"))))
    assert carried == [4, 8]
