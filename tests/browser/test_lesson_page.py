"""The page of the lesson before the browser: the line while it is played, tapping, and by keyboard alone."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import Page, expect

from keysense.capture.state import ListeningState
from tests.browser.everywhere import assert_clean_everywhere

if TYPE_CHECKING:
    from tests.browser.conftest import Lesson

pytestmark = pytest.mark.browser


def connected(page: Page) -> Page:
    while not page.evaluate("performance.getEntriesByType('resource').some(e => e.name.endsWith('live.js'))"):
        page.wait_for_timeout(50)  # the page itself forbids what would wait in it
    page.wait_for_timeout(300)
    return page


def drawn(now_s: float, *keys: tuple[float, int, int], down: int = 1) -> dict[str, object]:
    return {"kind": "drawn", "now_s": now_s, "down": down, "keys": [list(key) for key in keys]}


@pytest.fixture
def line(open_page: Callable[..., Page], lesson: Lesson) -> Callable[..., Page]:
    """The page with the line switched on by its own press."""

    def opened(**options: object) -> Page:
        ListeningState(lesson.studio.folder.journal).switch(True)
        page = connected(open_page("/", **options))
        expect(page.locator("#line")).to_be_hidden()
        page.locator("#teacher > summary").click()
        page.get_by_role("button", name="draw the line in this lesson").click()
        connected(page)
        expect(page.locator("#line")).to_be_visible()
        return page

    return opened


def switch_off(page: Page) -> None:
    page.locator("#teacher > summary").click()
    page.get_by_role("button", name="no line any more").click()
    expect(page.locator("#line")).to_be_hidden()


def test_the_line_only_grows_at_its_end_and_its_height_is_the_pianos(line: Callable[..., Page], lesson: Lesson) -> None:
    page = line(width=1280)
    lesson.played.tell(drawn(100.0, (100.0, 72, 30)))
    dots = page.locator("#line-drawn circle")
    expect(dots).to_have_count(1)
    first = dots.first.get_attribute("cy")
    lesson.played.tell(drawn(100.5, (100.5, 74, 120), (100.5, 48, 60)))
    expect(dots).to_have_count(3)
    assert dots.first.get_attribute("cy") == first, "loud notes do not move soft ones"
    assert float(dots.nth(1).get_attribute("cy") or 0) < float(first or 0)
    assert page.locator("#line-drawn .thread").count() and page.locator("#line-drawn .core").count()
    old = page.locator("#line-drawn path").first.get_attribute("d")
    lesson.played.tell(drawn(101.0, (101.0, 76, 90)))
    expect(dots).to_have_count(4)
    assert page.locator("#line-drawn path").first.get_attribute("d") == old
    expect(page.locator("#line-said")).to_have_text("Just now: loud.")
    lesson.played.tell(drawn(200.0, (200.0, 76, 90)))
    expect(dots).to_have_count(1)  # the picture was full: a new line begins
    switch_off(page)


def test_where_motion_is_unwelcome_the_line_changes_once_a_second(line: Callable[..., Page], lesson: Lesson) -> None:
    page = line(reduced_motion="reduce")
    changes = "window.changes = 0; new MutationObserver(() => window.changes++)"
    page.evaluate(f"{changes}.observe(document.getElementById('line-drawn'), {{ childList: true }})")
    for i in range(20):
        lesson.played.tell(drawn(10 + i * 0.02, (10 + i * 0.02, 72, 60)))
    expect(page.locator("#line-drawn circle")).to_have_count(20)
    assert page.evaluate("window.changes") == 1
    switch_off(page)


def test_the_line_goes_when_the_lesson_says_so(line: Callable[..., Page], lesson: Lesson) -> None:
    page = line()
    ListeningState(lesson.studio.folder.journal).switch(False)
    expect(page.locator("#line")).to_be_hidden()


def test_tapped_names_stay_tapped_when_a_take_comes_in(open_page: Callable[..., Page], lesson: Lesson) -> None:
    page = connected(open_page("/", width=390))
    take = lesson.there.unnamed
    page.locator(f"#tap-{take} > summary").click()
    page.locator(f"#tap-{take}").get_by_label("Pip", exact=True).check()
    lesson.played.tell({"kind": "looked", "take": take, "reading": None})
    page.wait_for_timeout(400)
    assert page.locator(f"#tap-{take} input[value='{lesson.there.pip}']").is_checked()
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_the_shape_is_alone_on_its_page_and_again_is_one_press(open_page: Callable[..., Page], lesson: Lesson) -> None:
    ListeningState(lesson.studio.folder.journal).switch(False)
    page = open_page("/", width=1440)
    page.locator(f"#card-{lesson.there.sleepy}").get_by_role("link", name="look together").click()
    page.get_by_role("link", name="skip the question").click()  # ears first: what grew is seen once it was listened to
    page.get_by_role("link", name="show the shape").click()
    expect(page.locator(".shape .one svg").first).to_be_visible()
    assert page.locator(".sheet, #teacher").count() == 0
    page.locator(".shapetwin > summary").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("table", name="How loud each bar was")).to_be_visible()
    page.get_by_role("button", name="Again").click()
    expect(page.get_by_text("Nobody is listening yet.")).to_be_visible()  # else it would be played, and lost
    assert lesson.studio.context.character == "sleepy"
    lesson.studio.set_context()


def test_axe_finds_nothing_with_every_part_open_and_a_question_asked(
    open_page: Callable[..., Page], lesson: Lesson
) -> None:
    there, studio = lesson.there, lesson.studio
    studio.doubt(there.proud, "piece", sounds=there.stairs, named=there.cat)
    studio.doubt(there.sleepy, "cut", first=there.cat, second=there.stairs, note=20)
    studio.doubt(there.unnamed, "pupil", pupil=there.pip, others=[there.odile], piece=there.stairs)
    page = open_page("/")
    page.evaluate("for (const part of document.querySelectorAll('details')) part.open = true")
    page.evaluate("document.getElementById('line').hidden = false")
    assert_clean_everywhere(page)
    expect(page.get_by_role("group", name="This sounds like Up and Down the Stairs rather than")).to_be_visible()
    expect(page.get_by_role("button", name="split here")).to_be_visible()


def test_every_fold_and_press_of_a_take_says_which_take_it_is_of(
    open_page: Callable[..., Page], lesson: Lesson
) -> None:
    page = open_page("/")
    for fold in page.locator("#takes summary").all():
        fold.click()
    names = "e => e.ariaLabel || e.innerText.replace(/\\s+/g, ' ').trim()"
    said = page.locator("#takes :is(summary, a.press, button):visible").evaluate_all(f"all => all.map({names})")
    assert len(said) > 8
    assert len(said) == len(set(said)), sorted(said)
    assert any(one.startswith("another name") and one.endswith("(proud, just now)") for one in said)


def test_a_question_is_answered_by_keyboard_alone(open_page: Callable[..., Page], lesson: Lesson) -> None:
    there, studio = lesson.there, lesson.studio
    studio.doubt(there.proud, "piece", sounds=there.stairs, named=there.cat)
    page = open_page("/")
    page.get_by_role("button", name="no, it is The Miller’s Cat").first.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_text("Noted.")).to_be_visible()
    assert studio.take(there.proud).piece_id == there.cat


def test_a_faulty_form_comes_back_in_sight_with_what_was_typed(open_page: Callable[..., Page]) -> None:
    page = open_page("/?open=1", 820)  # which also fails on a line in the browser's console
    page.get_by_text("someone new").click()
    page.get_by_label("A nickname is enough.").fill("Pip")
    page.get_by_label("Who has agreed, a parent or guardian").fill("Aunt Quill")
    page.get_by_label("Read to, and agreed by").check()
    page.get_by_role("button", name="add to the register").click()
    expect(page.get_by_role("alert")).to_have_text(re.compile("in the register already"))
    expect(page.get_by_role("alert")).to_be_in_viewport()
    expect(page.get_by_label("A nickname is enough.")).to_be_focused()
    assert page.get_by_label("Who has agreed, a parent or guardian").input_value() == "Aunt Quill"
