"""The child's share in a real Chromium: a line drawn with a finger, a mouse and the keyboard; the pace on demand."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np
import pypdfium2
import pytest
from playwright.sync_api import Page, expect

if TYPE_CHECKING:
    from tests.browser.conftest import Lesson

pytestmark = pytest.mark.browser


def room(lesson: Lesson) -> str:
    return f"/draw/{lesson.there.pip}/{lesson.there.cat}?character=sleepy"


def values(page: Page) -> list[int]:
    said: list[int] = page.evaluate("[...document.querySelectorAll('[name=h]')].map(e => Number(e.value))")
    return said


@pytest.mark.parametrize("width", [390, 1280])
def test_a_line_is_drawn_with_the_mouse_from_soft_to_loud(
    open_page: Callable[..., Page], lesson: Lesson, width: int
) -> None:
    page = open_page(room(lesson), width)
    field = page.locator(".field svg:visible")
    field.scroll_into_view_if_needed()
    box = field.bounding_box()
    assert box
    page.mouse.move(box["x"] + 0.07 * box["width"], box["y"] + 0.85 * box["height"])
    page.mouse.down()
    page.mouse.move(box["x"] + 0.99 * box["width"], box["y"] + 0.15 * box["height"], steps=4)
    page.mouse.up()
    drawn = values(page)
    assert drawn == sorted(drawn) and drawn[0] <= 3 and drawn[-1] >= 21  # places that a quick hand left out, too
    expect(page.locator(".field svg:visible .drawnline")).to_have_count(1)
    page.get_by_role("button", name="Keep it, and play").click()
    expect(page.get_by_text("Your line is kept.")).to_be_visible()
    kept = lesson.studio.waiting_wish(lesson.there.pip, lesson.there.cat, "sleepy")
    assert kept is not None and [round(24 * height) for height in kept.heights] == drawn
    lesson.studio.rub_out(kept.id)


def test_a_finger_draws_and_the_page_stays_where_it_is(open_page: Callable[..., Page], lesson: Lesson) -> None:
    page = open_page(room(lesson), 390, has_touch=True)
    field = page.locator(".field svg:visible")
    field.scroll_into_view_if_needed()
    box, before = field.bounding_box(), page.evaluate("scrollY")
    assert box
    session = page.context.new_cdp_session(page)
    for k, kind in enumerate(("touchStart", "touchMove", "touchMove", "touchMove", "touchEnd")):
        at = {"x": box["x"] + (0.2 + 0.2 * k) * box["width"], "y": box["y"] + (0.2 + 0.15 * k) * box["height"]}
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [] if kind == "touchEnd" else [at]})
    drawn = values(page)
    assert len(set(drawn)) > 3 and drawn[3] > drawn[11]
    assert page.evaluate("scrollY") == before


def test_the_keyboard_alone_draws_too_and_says_how_loud(open_page: Callable[..., Page], lesson: Lesson) -> None:
    page = open_page(room(lesson))
    page.locator(".places > summary").focus()
    page.keyboard.press("Enter")
    slider = page.get_by_role("slider", name="bar 1, beginning")
    slider.focus()
    page.keyboard.press("End")
    assert slider.get_attribute("aria-valuetext") == "very loud"
    page.keyboard.press("ArrowDown")
    assert values(page)[0] == 23
    expect(page.locator(".field svg:visible .drawnline")).to_have_count(1)


def test_the_pace_is_shown_on_demand(open_page: Callable[..., Page], lesson: Lesson) -> None:
    page = open_page(f"/take/{lesson.there.sleepy}?guess=skip&open=1")
    lanes = page.locator(".wide .pacelane")
    expect(lanes.first).to_be_hidden()
    page.get_by_label("show the pace too").focus()
    page.keyboard.press("Space")
    expect(lanes).to_have_count(2)
    for k in range(2):
        expect(lanes.nth(k)).to_be_visible()
    expect(page.get_by_role("columnheader", name="quarters a minute")).to_be_visible()
    page.locator("#teacher > summary").click()
    expect(lanes.first).to_be_hidden()


def test_what_a_finding_speaks_of_is_bracketed_in_the_music_and_said(
    open_page: Callable[..., Page], lesson: Lesson
) -> None:
    page = open_page(f"/take/{lesson.there.sleepy}?guess=end&open=1", width=820)
    page.locator("[data-widths] > .mid").wait_for()  # another page may have told of another width
    links = page.get_by_role("link", name="show it in the music")
    bar, place = (links.first.get_attribute(f"data-{name}") for name in ("bar", "place"))
    links.first.click()  # the mouse: no ring of the keyboard tells where the page went
    mark, line = page.locator(".shownbars:visible"), page.locator(f'[data-bars~="{bar}"]:visible')
    expect(mark).to_have_count(1)
    expect(page.locator("#told")).to_have_text(f"Shown in the music: {place}")
    assert line.evaluate("e => e === document.activeElement")
    under, music = mark.bounding_box(), line.locator(".engraved").bounding_box()
    assert under and music
    bars, edges = (str(line.get_attribute(f"data-{name}")).split() for name in ("bars", "edges"))
    begins = music["x"] + music["width"] * float(edges[bars.index(str(bar))]) / 100
    assert abs(under["x"] - begins) < 2 and 20 < under["width"] < music["width"]
    assert music["y"] < under["y"] and under["y"] + under["height"] < music["y"] + music["height"] + 20
    links.nth(1).click()
    expect(mark).to_have_count(1)
    page.keyboard.press("Escape")
    expect(mark).to_have_count(0)


def test_a_guess_that_differs_is_kept_and_drawn(open_page: Callable[..., Page], lesson: Lesson) -> None:
    page = open_page(f"/beside/{lesson.there.sleepy}/{lesson.there.proud}")
    page.get_by_text("both alike").click()
    page.get_by_role("button", name="Open the pictures").click()
    expect(page.get_by_text("You heard them alike. I heard proud. Shall we listen again?")).to_be_visible()
    expect(page.locator(".ears figure")).to_have_count(2)
    page.goto(f"{lesson.address}/beside/{lesson.there.sleepy}/{lesson.there.proud}")
    expect(page.get_by_text("You heard them alike.")).to_be_visible()  # not asked a second time


def test_what_is_looked_at_together_prints_on_one_page_and_the_shape_leaves_uncoloured(
    open_page: Callable[..., Page], lesson: Lesson
) -> None:
    there = lesson.there
    lesson.studio.set_own_word(there.pip, "sleepy", word="like snow", wish="let it fall even slower")
    pair, take, shape = f"/beside/{there.sleepy}/{there.proud}", f"/take/{there.sleepy}", f"/shape/{there.sleepy}"
    for path in (f"{pair}?guess=alike&open=1", f"{take}?guess=same", shape):
        page = open_page(path)
        page.wait_for_load_state("networkidle")
        for size in ("A4", "Letter"):
            with pypdfium2.PdfDocument(page.pdf(format=size, prefer_css_page_size=size == "A4")) as paper:
                assert len(paper) == 1, path
                ink = np.asarray(paper[0].render(scale=1).to_pil().convert("RGB"), int)
            if size == "A4":  # the shape lies across its sheet
                assert (ink.shape[1] > ink.shape[0]) is (path == shape)
        if path == shape:
            expect(page.get_by_role("button", name="print it to colour in")).to_be_visible()
    assert np.ptp(ink, axis=2).max() < 60 and ink.min() < 100  # ink, and no colour
