"""Papers in a real browser: a lesson to a signed note, exactly one page on any paper, reachable by everyone."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pypdfium2
import pytest
from playwright.sync_api import Page, expect

from tests.browser.everywhere import SIDEWAYS, assert_clean_everywhere

if TYPE_CHECKING:
    from tests.browser.conftest import Lesson

pytestmark = pytest.mark.browser

KINDS = ("note", "slip", "card")


def paper_of(page: Page, lesson: Lesson, kind: str, *, signed: bool) -> None:
    """Bring the paper of Pip's lesson to one state, whatever an earlier test left."""
    page.goto(f"{lesson.address}/{kind}/{lesson.there.pip}")
    if signed == (page.locator("body.signed").count() == 1):
        return
    if signed:
        page.locator("[name=by]").fill("Ann Teacher")
        page.get_by_role("button", name="Sign").click()
        page.locator("body.signed").wait_for()
    else:
        page.get_by_role("button", name="change it").click()
        page.locator("body.draft").wait_for()


def pages_of(data: bytes) -> tuple[int, str, float]:
    """How many pages, the words on the first, and how much of it is inked."""
    with pypdfium2.PdfDocument(data) as paper:
        ink = float((paper[0].render(scale=1).to_numpy().min(axis=2) < 128).mean())
        return len(paper), paper[0].get_textpage().get_text_range(), ink


@pytest.mark.parametrize("signed", [False, True])
@pytest.mark.parametrize("kind", KINDS)
def test_axe_finds_no_violation_and_nothing_scrolls_sideways(
    open_page: Callable[..., Page], lesson: Lesson, kind: str, signed: bool
) -> None:
    page = open_page("/", 360, reduced_motion="reduce")
    paper_of(page, lesson, kind, signed=signed)
    assert_clean_everywhere(page)
    page.add_style_tag(content="html { font-size: 212% !important; }")
    assert page.evaluate(SIDEWAYS) <= 0, "at twice the type"


@pytest.mark.parametrize("size", ["A4", "Letter"])
@pytest.mark.parametrize("kind", ["note", "slip"])
def test_a_signed_paper_prints_on_exactly_one_page(
    open_page: Callable[..., Page], lesson: Lesson, kind: str, size: str
) -> None:
    page = open_page("/")
    paper_of(page, lesson, kind, signed=True)
    n, said, ink = pages_of(page.pdf(format=size))
    assert n == 1
    assert "Pip" in said and "Ann Teacher" in said and "change it" not in said
    assert ink > 0.003


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_even_the_longest_note_is_one_page(open_page: Callable[..., Page], lesson: Lesson, size: str) -> None:
    page = open_page("/")
    paper_of(page, lesson, "note", signed=False)
    for part, words in (("made", 40), ("listened", 40), ("home", 30), ("says", 10)):
        page.locator(f"textarea[name={part}]").fill("practising " * words)
    page.locator("[name=by]").fill("Ann Teacher")
    page.get_by_role("button", name="Sign").click()
    page.locator("body.signed").wait_for()
    assert pages_of(page.pdf(format=size))[0] == 1


def test_the_card_prints_on_one_small_page_across(open_page: Callable[..., Page], lesson: Lesson) -> None:
    page = open_page("/")
    paper_of(page, lesson, "card", signed=True)
    data = page.pdf(prefer_css_page_size=True)
    n, said, ink = pages_of(data)
    with pypdfium2.PdfDocument(data) as paper:
        width, height = paper[0].get_size()
    assert n == 1 and abs(width - 595) < 3 and abs(height - 420) < 3  # A5 across, in points
    assert "You wanted it to grow" in said and "Print" not in said
    assert ink > 0.003


@pytest.mark.parametrize("kind", KINDS)
def test_a_draft_does_not_print(open_page: Callable[..., Page], lesson: Lesson, kind: str) -> None:
    page = open_page("/")
    paper_of(page, lesson, kind, signed=False)
    _, said, _ = pages_of(page.pdf(format="A4"))
    assert "sign it first" in said and "Cat" not in said and "sleepy" not in said


def test_from_the_lesson_to_a_signed_note_by_keyboard_alone(open_page: Callable[..., Page], lesson: Lesson) -> None:
    page = open_page("/")
    paper_of(page, lesson, "note", signed=False)
    home = page.get_by_role("textbox", name="to enjoy at home")
    home.focus()
    page.keyboard.press("ControlOrMeta+A")
    page.keyboard.type("Ask to hear both cats.")
    by = page.get_by_role("textbox", name="your name")
    by.focus()
    page.keyboard.press("ControlOrMeta+A")
    page.keyboard.type("Ann Teacher")
    page.keyboard.press("Enter")  # the first press of the form is to sign
    page.locator("body.signed").wait_for()
    expect(page.get_by_text("Ask to hear both cats.")).to_be_visible()
    page.get_by_role("link", name="as plain text").focus()
    page.keyboard.press("Enter")
    page.get_by_text("Signed: Ann Teacher").wait_for()


def test_without_a_script_a_paper_is_changed_signed_and_printed(open_page: Callable[..., Page], lesson: Lesson) -> None:
    page = open_page("/", java_script_enabled=False)
    paper_of(page, lesson, "slip", signed=False)
    page.locator("textarea[name=wish]").fill("Sing it first.")
    page.locator("[name=by]").fill("Ann Teacher")
    page.get_by_role("button", name="Sign").click()
    page.locator("body.signed").wait_for()
    expect(page.get_by_role("button", name="Print")).not_to_be_visible()  # the browser's own way prints it
    assert "Sing it first." in pages_of(page.pdf(format="A4"))[1]


@pytest.mark.parametrize("kind", KINDS)
def test_what_can_be_pressed_is_large_enough_for_a_finger(
    open_page: Callable[..., Page], lesson: Lesson, kind: str
) -> None:
    page = open_page("/", 360)
    for signed in (False, True):
        paper_of(page, lesson, kind, signed=signed)
        small = page.evaluate(
            """[...document.querySelectorAll('main a, button, main input:not([type=hidden]), textarea')]
            .filter(e => e.checkVisibility())
            .map(e => [e.outerHTML.slice(0, 90), e.getBoundingClientRect().height])
            .filter(([, height]) => height < 44)"""
        )
        assert small == []


def test_on_the_screen_a_paper_is_white_by_night_too(open_page: Callable[..., Page], lesson: Lesson) -> None:
    page = open_page("/", color_scheme="dark")
    paper_of(page, lesson, "note", signed=True)
    colours = page.evaluate(
        "(e => [getComputedStyle(e).backgroundColor, getComputedStyle(e).color])(document.querySelector('.a4'))"
    )
    assert colours == ["rgb(255, 255, 255)", "rgb(22, 32, 42)"]
