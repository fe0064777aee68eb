"""A take heard again in a real Chromium: it sounds, the bead stands under the note, and any press makes it quiet."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np
import pytest
from playwright.sync_api import Page, expect

from keysense.notes import Take
from keysense.smf import take_to_smf

if TYPE_CHECKING:
    from tests.browser.conftest import Lesson

pytestmark = pytest.mark.browser

# what goes to the loudspeaker, listened in on before anything of the page runs
LISTENING_IN = """
window.loudest = 0; window.struck = [];
const connect = AudioNode.prototype.connect;
AudioNode.prototype.connect = function (to, ...more) {
  if (to instanceof AudioDestinationNode) {
    const ear = this.context.createAnalyser();
    const part = new Float32Array(ear.fftSize);
    connect.call(this, ear);
    setInterval(() => {
      ear.getFloatTimeDomainData(part);
      window.level = Math.max(...part.map(Math.abs));
      window.loudest = Math.max(window.loudest, window.level);
    }, 20);
  }
  return connect.call(this, to, ...more);
};
const start = AudioBufferSourceNode.prototype.start;
AudioBufferSourceNode.prototype.start = function (at) { window.struck.push(at); return start.call(this, at); };
"""


@pytest.fixture
def heard(open_page: Callable[..., Page], lesson: Lesson) -> Callable[..., Page]:
    def opened(path: str, width: int = 1440, **options: object) -> Page:
        page = open_page("/weeks", width, **options)
        page.add_init_script(LISTENING_IN)
        page.goto(lesson.address + path)
        return page

    return opened


def no_tune(lesson: Lesson) -> str:
    """A take that is no tune of this studio."""
    n = 24
    onset = np.arange(n) * 0.2
    pitch = 48 + (np.arange(n) * 29) % 37
    take = Take.from_notes(
        onset_s=onset, release_s=onset + 0.15, pitch=pitch, velocity=np.linspace(30, 90, n).astype(int)
    )
    return lesson.studio.add_take(take, take_to_smf(take), started_utc=lesson.studio.now(), source="demo")


def until(page: Page, so: str) -> None:
    """Wait until it is so; the page's own policy forbids it to wait for a text of ours."""
    for _ in range(300):
        if page.evaluate(so):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"never: {so}")


def sounding(page: Page) -> None:
    until(page, "window.loudest > 0.005")


def test_it_sounds_and_the_bead_stands_under_the_note(heard: Callable[..., Page], lesson: Lesson) -> None:
    page = heard(f"/take/{lesson.there.sleepy}?guess=skip")
    press = page.get_by_role("button", name="hear it", exact=True)
    press.click()
    sounding(page)
    bead = page.locator("div.system .place").first
    expect(bead).to_be_visible()
    box, strip = bead.bounding_box(), page.locator(".wide div.system .engraved").first.bounding_box()
    assert box and strip
    assert strip["y"] < box["y"] < strip["y"] + strip["height"]
    heads = page.evaluate(
        "[...document.querySelectorAll('.wide .notehead')].map(e => e.getBoundingClientRect())"
        ".map(r => r.left + r.width / 2)"
    )
    assert min(abs(box["x"] + box["width"] / 2 - x) for x in heads) < 2
    where = box["x"]
    until(page, f"document.querySelector('div.system .place').getBoundingClientRect().left > {where + 5}")
    expect(page.get_by_role("button", name="stop", exact=True)).to_be_visible()
    expect(page.get_by_text("It is sounding.")).to_be_visible()


def test_behind_the_open_fold_the_bead_stands_in_the_heard_lane(heard: Callable[..., Page], lesson: Lesson) -> None:
    page = heard(f"/take/{lesson.there.proud}?guess=skip&open=1")
    page.get_by_role("button", name="hear it", exact=True).click()
    sounding(page)
    expect(page.locator(".place").first).to_be_visible()
    inside = """[...document.querySelectorAll('div.system .place')].map(bead => {
      const at = bead.getBoundingClientRect();
      const strips = [...bead.parentElement.querySelectorAll('.lane svg')].map(one => one.getBoundingClientRect());
      return strips.findIndex(strip => at.top >= strip.top - 6 && at.bottom <= strip.bottom + 6); })"""
    strips = page.evaluate(inside)
    # each hand has its bead in the heard lane (the first strip) and on its loudness line (the second)
    assert set(strips) == {0, 1} and strips.count(0) == strips.count(1)


def test_the_bead_goes_along_the_shape_for_the_child(heard: Callable[..., Page], lesson: Lesson) -> None:
    page = heard(f"/take/{lesson.there.sleepy}?guess=skip")
    page.get_by_role("button", name="hear it", exact=True).click()
    sounding(page)
    bead = page.locator(".shape .place")
    expect(bead).to_have_count(1)
    at = "[...document.querySelectorAll('.shape .place')].map(e => e.getBoundingClientRect())[0]"
    box = page.evaluate(f"(({{left, top}}) => [left, top])({at})")
    dots = page.evaluate(
        "[...document.querySelectorAll('.shape > .one g[data-hand=R] [data-q]')].map(e => e.getBoundingClientRect())"
        ".map(r => [r.left + r.width / 2, r.top + r.height / 2])"
    )
    assert min(abs(box[0] + 6 - x) + abs(box[1] + 6 - y) for x, y in dots) < 3


def test_a_take_without_a_score_shows_the_place_on_its_thread(heard: Callable[..., Page], lesson: Lesson) -> None:
    page = heard(f"/take/{no_tune(lesson)}")
    page.get_by_role("button", name="hear it", exact=True).click()
    sounding(page)
    bead = page.locator(".drawing .place")
    expect(bead).to_be_visible()
    box, thread = bead.bounding_box(), page.locator(".drawing svg").first.bounding_box()
    assert box and thread and thread["y"] - 12 < box["y"] < thread["y"] + thread["height"]
    where = box["x"]
    until(page, f"document.querySelector('.drawing .place').getBoundingClientRect().left > {where + 5}")


def test_the_same_press_makes_it_quiet(heard: Callable[..., Page], lesson: Lesson) -> None:
    page = heard(f"/take/{lesson.there.proud}?guess=skip")
    page.get_by_role("button", name="hear it", exact=True).click()
    sounding(page)
    page.get_by_role("button", name="stop", exact=True).click()
    expect(page.locator(".place")).to_have_count(0)
    until(page, "window.level < 0.0005")
    expect(page.get_by_text("It is quiet again.")).to_be_visible()


def test_a_note_on_the_piano_makes_it_quiet(heard: Callable[..., Page], lesson: Lesson) -> None:
    page = heard(f"/take/{lesson.there.proud}?guess=skip")
    page.get_by_role("button", name="hear it", exact=True).click()
    sounding(page)
    lesson.played.tell({"kind": "key", "time_s": 0.0, "pitch": 60, "velocity": 64})
    expect(page.get_by_role("button", name="hear it", exact=True)).to_be_visible()


def test_the_keyboard_alone_is_enough(heard: Callable[..., Page], lesson: Lesson) -> None:
    page = heard(f"/take/{lesson.there.sleepy}?guess=skip")
    page.get_by_role("button", name="hear it", exact=True).focus()
    page.keyboard.press("Enter")
    sounding(page)
    page.keyboard.press("Escape")
    expect(page.get_by_role("button", name="hear it", exact=True)).to_be_focused()


def test_from_a_bar_the_right_hand_slower(heard: Callable[..., Page], lesson: Lesson) -> None:
    page = heard(f"/take/{lesson.there.sleepy}?guess=skip")
    page.get_by_text("slower, one hand, from a bar").click()
    page.get_by_label("from bar").select_option("7")
    page.get_by_label("which hands").select_option("right hand only")
    page.get_by_label("how fast").select_option("half as fast")
    with page.expect_response("**/notes.json?*") as answer:
        page.get_by_role("button", name="hear it", exact=True).click()
    assert "bar=7" in answer.value.url and "hand=R" in answer.value.url and "speed=0.5" in answer.value.url
    sounding(page)
    # the place sounding is on the second line of music, and the page has gone there
    system = page.locator(".wide div.system").nth(1)
    expect(system.locator(".place")).to_be_visible()


def test_two_characters_change_coats(heard: Callable[..., Page], lesson: Lesson) -> None:
    page = heard(f"/beside/{lesson.there.sleepy}/{lesson.there.proud}?guess=skip")
    page.get_by_role("button", name="hear proud", exact=True).click()
    sounding(page)
    expect(page.locator(".coat .place")).to_have_count(1)
    with page.expect_response("**/notes.json?*") as answer:
        page.get_by_role("button", name="sleepy, at the pace of proud").click()
    assert f"pace={lesson.there.proud}" in answer.value.url
    expect(page.locator(".coat").first.locator(".place")).to_be_visible()
    expect(page.get_by_role("button", name="hear proud", exact=True)).to_be_visible()  # the other press ended


def test_less_motion_moves_the_bead_once_a_bar_and_not_the_page(heard: Callable[..., Page], lesson: Lesson) -> None:
    page = heard(f"/take/{lesson.there.proud}?guess=skip", reduced_motion="reduce")
    press = page.get_by_role("button", name="hear it", exact=True)
    press.scroll_into_view_if_needed()
    page.evaluate(
        """window.moved = new Set(); new MutationObserver((all) => { for (const one of all)
        if (one.target.matches?.('div.system > .place')) window.moved.add(one.target.style.left); })
        .observe(document.body, { attributes: true, subtree: true, attributeFilter: ['style'] })"""
    )
    before = page.evaluate("scrollY")
    press.click()
    sounding(page)
    until(page, "window.moved.size >= 3")
    struck = page.evaluate("window.struck.length")
    assert page.evaluate("window.moved.size") < struck
    assert page.evaluate("scrollY") == before


def test_nothing_is_fetched_before_the_press(open_page: Callable[..., Page], lesson: Lesson) -> None:
    asked: list[str] = []
    page = open_page("/weeks")
    page.on("request", lambda request: asked.append(request.url))
    page.goto(f"{lesson.address}/take/{lesson.there.sleepy}?guess=skip")
    page.wait_for_load_state("networkidle")
    assert not [url for url in asked if "piano" in url]


def test_where_no_piano_answers_it_sounds_here(heard: Callable[..., Page], lesson: Lesson) -> None:
    page = heard(f"/take/{lesson.there.sleepy}?guess=skip")
    told = {"said": "No piano answers. It sounds on this computer instead.", "here": True}
    page.route("**/to-piano", lambda route: route.fulfill(json=told))
    page.evaluate(  # as where a piano is connected
        "document.querySelector('.hear .presses').insertAdjacentHTML('beforeend',"
        " '<select name=where aria-label=where><option value=piano></select>')"
    )
    page.get_by_role("button", name="hear it", exact=True).click()
    sounding(page)
    expect(page.locator(".hear [role=status]").first).to_have_text(told["said"])
