"""A lesson before the browser: takes appear by themselves, names survive, the fold closes at the next note."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import Page, expect

from fixtures.studio_for_pages import SCORES, play_take
from keysense.demo.performer import Playing
from keysense.targets import read_target

if TYPE_CHECKING:
    from tests.browser.conftest import Lesson

pytestmark = pytest.mark.browser


def play(lesson: Lesson, seed: int = 77) -> str:
    """Something is played; the lesson tells of it as the real one does."""
    snail = read_target(SCORES / "snail_at_the_gate.musicxml")
    take = play_take(
        lesson.studio, snail, Playing(80, [(0, 60), (8, 64)]), seed=seed, ago=timedelta(seconds=120 - seed)
    )
    lesson.played.tell({"kind": "take", "take": take, "n": 8, "duration_s": 6.0, "flags": ()})
    lesson.played.tell({"kind": "looked", "take": take, "reading": None})
    return take


def connected(page: Page) -> Page:
    """The page once its live connection stands."""
    while not page.evaluate("performance.getEntriesByType('resource').some(e => e.name.endsWith('live.js'))"):
        page.wait_for_timeout(50)  # the page itself forbids what would wait in it
    page.wait_for_timeout(300)
    return page


def test_a_take_appears_without_a_reload(open_page: Callable[..., Page], lesson: Lesson) -> None:
    page = connected(open_page("/"))
    page.evaluate("window.stayed = true")
    before = page.locator("#takes li").count()
    take = play(lesson)
    expect(page.locator(f"#card-{take}")).to_be_visible()
    assert page.locator("#takes li").count() == before + 1
    assert page.evaluate("window.stayed") is True
    expect(page.locator(f"#card-{take} svg[role=img]")).to_be_visible()


def test_a_half_typed_name_survives_takes_that_come_in(open_page: Callable[..., Page], lesson: Lesson) -> None:
    page = connected(open_page("/"))
    field = page.locator(f"#card-{lesson.there.unnamed} input[name=line]")
    field.click()
    page.keyboard.type("pip mil")
    for seed in (78, 79):  # by then it is none of the newest, and asks behind a fold
        take = play(lesson, seed)
        expect(page.locator(f"#card-{take}")).to_be_visible()
    expect(page.locator(f"#card-{lesson.there.unnamed}")).to_contain_class("brief")
    page.keyboard.type("ler")
    expect(field).to_be_visible()
    assert field.input_value() == "pip miller"


def test_the_fold_closes_at_the_next_note_played(open_page: Callable[..., Page], lesson: Lesson) -> None:
    page = connected(open_page(f"/take/{lesson.there.sleepy}?guess=skip"))
    page.locator("#teacher > summary").click()
    expect(page.locator(".lane").filter(visible=True).first).to_be_visible()
    lesson.played.tell({"kind": "key", "time_s": 0.0, "pitch": 60, "velocity": 64})
    expect(page.locator("#teacher")).not_to_have_attribute("open", "")
    expect(page.get_by_text("asked and heard").first).not_to_be_visible()


FOLDED = ("lesson", "two", "weeks", "spots", "unnamed")


@pytest.mark.parametrize("name", FOLDED)
def test_every_page_opens_folded_and_closes_at_the_next_note(
    open_page: Callable[..., Page], lesson: Lesson, name: str
) -> None:
    page = connected(open_page(lesson.paths()[name].replace("&open=1", "").replace("?open=1", "")))
    fold = page.locator("#teacher")
    expect(fold).not_to_have_attribute("open", "")
    page.locator("#teacher > summary").click()
    expect(fold).to_have_attribute("open", "")
    lesson.played.tell({"kind": "key", "time_s": 0.0, "pitch": 60, "velocity": 64})
    expect(fold).not_to_have_attribute("open", "")


def test_the_question_does_not_give_loud_and_soft_away(open_page: Callable[..., Page], lesson: Lesson) -> None:
    page = open_page(f"/take/{lesson.there.sleepy}")
    seen = """[...document.querySelectorAll('.wide .hairpin, .wide .dynam')]
        .map(e => getComputedStyle(e).visibility)"""
    hidden = page.evaluate(seen)
    assert hidden and set(hidden) == {"hidden"}
    page.goto(f"{lesson.address}/take/{lesson.there.sleepy}?guess=skip")
    assert set(page.evaluate(seen)) == {"visible"}


def test_the_weeks_are_drawn_to_look_closer_only_when_asked(open_page: Callable[..., Page], lesson: Lesson) -> None:
    asked: list[str] = []
    page = open_page(f"/weeks/{lesson.there.odile}?open=1")
    page.on("request", lambda request: asked.append(request.url))
    assert not page.locator(".explore svg").count()
    page.locator("details.closer > summary").first.click()
    page.locator(".explore .scatterlayer .point").first.wait_for()
    assert page.locator(".explore .scatterlayer .point").count() == 6
    assert any("plotly-basic" in url for url in asked)


def test_drop_and_bring_back(open_page: Callable[..., Page], lesson: Lesson) -> None:
    take = play(lesson, 80)
    page = open_page("/")
    page.locator(f"#card-{take}").get_by_role("button", name="not this one").click()
    page.locator(f"#card-{take}").get_by_role("button", name="bring it back").click()
    expect(page.locator(f"#card-{take}").get_by_role("link", name="look together")).to_be_visible()


def test_naming_by_one_line_leads_to_a_named_take(open_page: Callable[..., Page], lesson: Lesson) -> None:
    take = play(lesson, 81)
    page = open_page("/", 360)
    page.locator(f"#take-{take}").fill("pip miller sleepy")
    page.keyboard.press("Enter")
    expect(page.locator(f"#card-{take}").get_by_role("heading")).to_contain_text("Miller")
    assert lesson.studio.take(take).pupil_id == lesson.there.pip


def test_lanes_stand_under_their_noteheads(open_page: Callable[..., Page], lesson: Lesson) -> None:
    """The mark of another note stands over the same x as the notehead it speaks of."""
    page = open_page(f"/take/{lesson.there.sleepy}?guess=skip&open=1")
    page.locator(".wide .lane g").first.wait_for()  # the page before may have had another width
    offset = page.evaluate(
        """() => { const mark = [...document.querySelectorAll('.wide .lane g')]
            .find(g => g.querySelector('title')?.textContent.includes('another note sounded'));
          const box = mark.querySelector('.tab').getBoundingClientRect();
          const heads = [...mark.closest('.system').querySelectorAll('.engraved .notehead')];
          const middle = box.left + box.width / 2;
          return Math.min(...heads.map(h => { const r = h.getBoundingClientRect();
            return Math.abs(r.left + r.width / 2 - middle); })); }"""
    )
    assert offset < 4
