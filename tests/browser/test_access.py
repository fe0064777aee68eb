"""Access: axe finds nothing, nothing scrolls sideways, everything is reached and seen with the keyboard alone."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import Browser, Page, expect

from fixtures.serving import served
from fixtures.studio_for_pages import NOW, furnish
from keysense.export import export_take
from keysense.studio.studio import Studio
from keysense.web.app import create_app
from tests.browser.everywhere import SIDEWAYS, assert_clean_everywhere

if TYPE_CHECKING:
    from tests.browser.conftest import Lesson

pytestmark = pytest.mark.browser

PAGES = (
    "lesson",
    "question",
    "take",
    "shape",
    "draw",
    "unnamed",
    "louder",
    "two",
    "whose",
    "weeks",
    "studio",
    "spots",
    "pianos",
    "elsewhere",
    "kept",
    "overnight",
    "pieces",
    "piece",
    "mark",
    "character",
    "nothing",
)
EVERY_WIDTH = (320, 360, 480, 699, 700, 720, 820, 959, 960, 1199, 1200, 1440, 1920)
SMALL = """[...document.querySelectorAll('a, button, summary, input:not([type=hidden])')]
  .filter(e => e.checkVisibility() && !e.classList.contains('skip'))
  .filter(e => e.type !== 'radio' && e.type !== 'checkbox')
  .map(e => [e.outerHTML.slice(0, 90), e.getBoundingClientRect().height])
  .filter(([, height]) => height < 44)"""


@pytest.mark.parametrize("name", PAGES)
def test_axe_finds_no_violation(open_page: Callable[..., Page], lesson: Lesson, name: str) -> None:
    page = open_page(lesson.paths()[name])
    assert_clean_everywhere(page)


@pytest.mark.parametrize("name", PAGES)
def test_nothing_scrolls_sideways_and_every_press_is_large_enough_for_a_finger(
    open_page: Callable[..., Page], lesson: Lesson, name: str
) -> None:
    page = open_page(lesson.paths()[name], 360)
    assert page.evaluate(SMALL) == []
    for width in EVERY_WIDTH:
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate(SIDEWAYS) <= 0, width
    page.add_style_tag(content="html { font-size: 212% !important; }")
    for width in (360, 820, 1440):
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate(SIDEWAYS) <= 0, f"{width} at twice the type"


def test_the_guess_and_the_fold_by_keyboard_alone(open_page: Callable[..., Page], lesson: Lesson) -> None:
    page = open_page(f"/take/{lesson.there.sleepy}")
    page.locator("input[type=radio]").first.focus()
    page.keyboard.press("ArrowDown")
    assert page.locator("input[value=end]").is_checked()
    page.keyboard.press("Enter")
    page.get_by_text("You heard it grow towards the end.").wait_for()
    page.locator("#teacher > summary").focus()
    expect(page.get_by_text("asked and heard").first).not_to_be_visible()
    page.keyboard.press("Enter")
    expect(page.get_by_text("asked and heard").first).to_be_visible()
    page.keyboard.press("Enter")
    expect(page.get_by_text("asked and heard").first).not_to_be_visible()


def test_without_a_script_every_word_and_table_is_there(open_page: Callable[..., Page], lesson: Lesson) -> None:
    page = open_page(f"/take/{lesson.there.sleepy}?guess=skip", java_script_enabled=False)
    page.locator("#teacher > summary").click()
    expect(page.get_by_text("asked and heard").first).to_be_visible()
    page.get_by_text("more, and the same as a table").click()
    expect(page.locator("#teacher table").first).to_be_visible()
    page.get_by_label("show the pace too").check()
    expect(page.get_by_role("table", name="The pace, bar by bar")).to_be_visible()
    page.locator(".shapetwin > summary").click()
    expect(page.locator(".shapetwin table")).to_be_visible()


def test_nothing_moves_where_motion_is_not_wanted(open_page: Callable[..., Page], lesson: Lesson) -> None:
    page = open_page("/", reduced_motion="reduce")
    moving = page.evaluate(
        """[...document.querySelectorAll('*')].filter(e => { const s = getComputedStyle(e);
        return s.animationName !== 'none' || s.transitionDuration.split(',').some(d => parseFloat(d) > 0); }).length"""
    )
    assert moving == 0


def test_the_first_minute_and_the_file_that_stands_alone(browser: Browser, tmp_path: Path) -> None:
    with Studio.open(tmp_path / "empty") as empty, served(create_app(empty)) as address:
        page = browser.new_page(reduced_motion="reduce")
        page.goto(address)
        page.get_by_text("Plug the piano in.").wait_for()
        assert_clean_everywhere(page)
        page.close()
    with Studio.open(tmp_path / "studio", now=lambda: NOW) as studio:
        file = export_take(studio, furnish(studio, weeks=0).sleepy, tmp_path / "take.html")
    page = browser.new_page(reduced_motion="reduce")
    page.goto(file.as_uri())
    page.locator("#teacher > summary").click()
    expect(page.get_by_text("asked and heard").first).to_be_visible()
    assert page.evaluate("document.fonts.check('1rem Andika') && [...document.fonts].some(f => f.status === 'loaded')")
    assert_clean_everywhere(page)
    page.close()
