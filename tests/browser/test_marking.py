"""Marking by finger, mouse and keyboard; a file dragged on to the page."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import Page, expect

from fixtures.studio_for_pages import SCORES

if TYPE_CHECKING:
    from tests.browser.conftest import Lesson

pytestmark = pytest.mark.browser

DROP = """([name, text]) => {
  const data = new DataTransfer();
  data.items.add(new File([text], name));
  const over = { bubbles: true, cancelable: true, dataTransfer: data };
  for (const kind of ['dragover', 'drop']) document.querySelector('h1').dispatchEvent(new DragEvent(kind, over));
}"""


@pytest.fixture(autouse=True)
def unmarked(lesson: Lesson) -> Iterator[None]:
    yield
    while lesson.studio.can_undo_mark(lesson.there.cat):
        lesson.studio.undo_mark(lesson.there.cat)


@pytest.mark.parametrize(("width", "head"), [(390, "tight"), (1280, "wide")])
def test_a_tapped_note_ends_a_phrase_and_a_second_tap_takes_it_away(
    open_page: Callable[..., Page], lesson: Lesson, width: int, head: str
) -> None:
    page = open_page(f"/piece/{lesson.there.cat}/mark", width, has_touch=True)
    note = page.locator(f"#marking .{head} .head[data-place='2.3'][data-hand=R]")
    box = note.bounding_box()
    assert box is not None
    page.touchscreen.tap(box["x"] + box["width"] / 2 + 4, box["y"] + box["height"] / 2 - 9)
    expect(page.get_by_text("A phrase ends after bar 2, quarter 3.")).to_be_visible()
    expect(page.locator(".marktold")).to_have_text("Marked.")
    page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    expect(page.get_by_text("A phrase ends after bar 2, quarter 3.")).to_have_count(0)
    page.locator("#unmark").tap()
    expect(page.get_by_text("A phrase ends after bar 2, quarter 3.")).to_be_visible()


def test_a_window_that_is_turned_is_sent_notes_that_can_be_tapped(
    open_page: Callable[..., Page], lesson: Lesson
) -> None:
    page = open_page(f"/piece/{lesson.there.cat}/mark", 1280)
    page.reload()  # the width of the window is known now: one engraving is sent
    expect(page.locator("#marking [data-notes]")).to_have_count(1)
    page.set_viewport_size({"width": 390, "height": 900})
    page.locator("#marking .tight .head[data-place='2.3'][data-hand=R]").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_text("A phrase ends after bar 2, quarter 3.")).to_be_visible()


def test_a_hairpin_for_sleepy_by_keyboard_alone(open_page: Callable[..., Page], lesson: Lesson) -> None:
    page = open_page(f"/piece/{lesson.there.cat}/mark?for=sleepy", 1280)
    page.get_by_role("radio", name="it grows").focus()
    page.keyboard.press("Space")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.getAttribute('aria-label')") == "bar 1, quarter 1: C4, right hand"
    page.keyboard.press("Enter")
    expect(page.locator(".marktold")).to_have_text("Now the note it ends with.")
    expect(page.locator(".howtap")).to_have_text("Now the note it ends with.")
    page.keyboard.press("Escape")
    expect(page.locator(".marktold")).to_have_text("")
    page.keyboard.press("Enter")
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    expect(page.get_by_text("Sleepy: It grows from bar 1, quarter 1 to bar 1, quarter 3.")).to_be_visible()
    assert page.evaluate("document.activeElement.dataset.place") == "1.3", "the place is kept"
    assert [one.layer for one in lesson.studio.markings(lesson.there.cat)] == ["sleepy"]
    assert page.locator("#marking .wide .laid title", has_text="it grows").count() == 1


def test_what_is_written_with_scripts_off_is_the_same_mark(open_page: Callable[..., Page], lesson: Lesson) -> None:
    page = open_page(f"/piece/{lesson.there.cat}/mark", 820, java_script_enabled=False)
    page.get_by_role("radio", name="a guide note").check()
    page.get_by_label("from", exact=True).fill("1.3")
    page.get_by_role("button", name="mark it").click()
    expect(page.get_by_text("A guide note at bar 1, quarter 3.")).to_be_visible()
    page.get_by_label("from", exact=True).fill("soon")
    page.get_by_role("button", name="mark it").click()
    assert "is no place" in page.get_by_role("alert").inner_text()
    assert page.get_by_label("from", exact=True).input_value() == "soon"


def test_a_file_dragged_on_to_the_page_is_on_the_shelf_and_a_spoilt_one_is_told_in_words(
    open_page: Callable[..., Page], lesson: Lesson
) -> None:
    page = open_page("/pieces", 1280)
    page.evaluate(DROP, ["gate_posts.musicxml", (SCORES / "gate_posts.musicxml").read_text("utf-8")])
    page.get_by_text("The piece is on the shelf.").wait_for()
    expect(page.locator(".score .engraved svg").first).to_be_visible()
    page.goto(f"{lesson.address}/pieces")
    page.evaluate(DROP, ["shopping.musicxml", "eggs"])
    assert "shopping.musicxml" in page.get_by_role("alert").inner_text()


def test_the_pace_of_a_tune_is_tapped(open_page: Callable[..., Page]) -> None:
    page = open_page("/pieces", 1280)
    press, pace = page.locator(".pulse"), page.locator("[name=pace]")
    press.click()
    expect(press).to_have_text("once more …")
    page.evaluate("""() => {
      const press = document.querySelector('.pulse');
      for (const at of [100000, 100500, 101000, 101700, 102200]) {
        const tap = new MouseEvent('click', { bubbles: true });
        Object.defineProperty(tap, 'timeStamp', { value: at });
        press.dispatchEvent(tap);
      } }""")
    expect(pace).to_have_value("120")
    expect(press).to_have_text("tap the pulse here")
