"""What a page weighs on its way to the browser: text compressed, nothing fetched that is not yet asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import Browser

from fixtures.long_take import long_take

if TYPE_CHECKING:
    from tests.browser.conftest import Lesson

pytestmark = pytest.mark.browser

MOST_BYTES = 600_000
WEIGHT = """performance.getEntries().filter(e => e.entryType === 'navigation' || e.entryType === 'resource')
  .map(e => [e.name.replace(location.origin, ''), e.transferSize])"""


@pytest.fixture(scope="module")
def long_path(lesson: Lesson) -> str:
    take, n = long_take(lesson.studio, pupil=lesson.there.pip)
    assert n >= 200
    return f"/take/{take}?guess=skip&open=1"


NAMES = ("long take", "lesson", "take", "shape", "two", "weeks", "studio", "spots", "pieces", "mark")


@pytest.mark.parametrize("name", NAMES)
def test_a_page_is_light(browser: Browser, lesson: Lesson, long_path: str, name: str) -> None:
    page = browser.new_page()  # in a context of its own: whoever opens a page for the first time has nothing of it yet
    page.goto(lesson.address + (long_path if name == "long take" else lesson.paths()[name]))
    page.wait_for_load_state("networkidle")
    parts = page.evaluate(WEIGHT)
    assert len(parts) > 5 and all(size > 0 for _, size in parts), parts
    assert sum(size for _, size in parts) < MOST_BYTES, parts
    assert not [path for path, _ in parts if "plotly" in path or path.endswith(".mp3")], (
        "fetched before it is asked for"
    )
    page.close()


def test_the_engraving_that_a_turned_window_needs_is_asked_for(browser: Browser, lesson: Lesson) -> None:
    page = browser.new_page(viewport={"width": 1440, "height": 900})
    shown = "[...document.querySelectorAll('[data-widths] > div')].filter(e => e.clientWidth).map(e => e.classList[0])"
    for _ in range(2):  # the second time the window's width is known
        page.goto(lesson.address + lesson.paths()["take"])
        assert page.evaluate(shown) == ["wide", "small"]  # the music, and what its signs mean
    assert page.locator("[data-widths] > .mid, [data-widths] > .tight").count() == 0
    page.set_viewport_size({"width": 400, "height": 800})
    page.locator("[data-widths] > .tight").wait_for()
    assert page.evaluate(shown) == ["tight", "small"]
    page.close()
