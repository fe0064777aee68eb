"""Every page by keyboard alone and with scripts off: each control is reached and works, each word is there."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import pytest
from playwright.sync_api import Page

if TYPE_CHECKING:
    from tests.browser.conftest import Lesson

pytestmark = pytest.mark.browser

PAGES = (
    "lesson", "question", "take", "shape", "draw", "unnamed", "louder", "two", "whose", "weeks", "studio", "spots",
    "pianos", "elsewhere", "kept",
    "pieces", "piece", "mark", "character", "note", "slip", "card", "nothing",
)  # fmt: skip

# What Tab should come to: everything seen that can be worked, of a group of choices one.
_STOPS = """() => {
  const all = [...document.querySelectorAll(
    'a[href], button, summary, input:not([type=hidden]), select, textarea, [tabindex="0"]')];
  const seen = all.filter(e => e.checkVisibility({ visibilityProperty: true }) && !e.disabled);
  const groups = new Set();
  return seen.filter(e => {
    if (e.type !== 'radio') return true;
    const mine = `${e.name} ${e.form?.action}`;
    if (groups.has(mine)) return false;
    groups.add(mine);
    return true;
  }).length; }"""
_TOLD = """() => {
  const e = document.activeElement;
  if (!e || e === document.body || e.hasAttribute('data-came')) return null;
  e.setAttribute('data-came', '');
  const shown = [e, e.closest('label'), e.querySelector('.press')].filter(Boolean)
    .some(x => getComputedStyle(x).outlineStyle !== 'none');
  const fold = document.querySelector('.teacher:not([open]) > summary');
  const low = fold && !fold.contains(e) && e.getBoundingClientRect().bottom > fold.getBoundingClientRect().top + 1;
  return [e.outerHTML.slice(0, 80), shown, Boolean(low)]; }"""


def path_of(lesson: Lesson, name: str) -> str:
    return f"/{name}/{lesson.there.pip}" if name in ("note", "slip", "card") else lesson.paths()[name]


@pytest.mark.parametrize("name", PAGES)
def test_every_control_is_reached_seen_and_worked_by_keyboard_alone(
    open_page: Callable[..., Page], lesson: Lesson, name: str
) -> None:
    page = open_page(path_of(lesson, name), 820)
    page.evaluate("document.activeElement?.blur()")
    tab_comes_to_each_once_shows_it_and_leaves(page)
    enter_and_space_open_and_close(page)
    space_chooses_and_arrows_walk(page)


def tab_comes_to_each_once_shows_it_and_leaves(page: Page) -> None:
    stops = page.evaluate(_STOPS)
    came: list[Any] = []
    for _ in range(stops + 40):
        page.keyboard.press("Tab")
        here = page.evaluate(_TOLD)
        if here is None:
            break
        came.append(here)
    assert [what for what, shown, _ in came if not shown] == [], "no outline"
    assert [what for what, _, covered in came if covered] == [], "hidden behind the fold"
    assert len(came) == stops, "a control is not reached, or holds the focus"
    assert "to the page itself" in came[0][0]


def enter_and_space_open_and_close(page: Page) -> None:
    is_open = "e => e.parentElement.open"
    for summary in page.locator("summary").all():
        if not summary.is_visible():
            continue
        before = summary.evaluate(is_open)
        for key, after in (("Enter", not before), ("Space", before)):
            summary.focus()
            summary.press(key)
            assert summary.evaluate(is_open) is after, f"{key} on {summary.inner_text()}"


def space_chooses_and_arrows_walk(page: Page) -> None:
    groups: dict[str, list[Any]] = {}
    for radio in page.locator("input[type=radio]").all():
        if radio.is_visible():
            groups.setdefault(radio.evaluate("e => `${e.name} ${e.form?.action}`"), []).append(radio)
    for radios in groups.values():
        radios[0].focus()
        radios[0].press("Space")
        assert radios[0].is_checked()
        if len(radios) > 1:
            radios[0].press("ArrowDown")
            assert radios[1].is_checked()


_WORDS = """() => {
  for (const part of document.querySelectorAll('details')) part.open = true;
  return [[...document.querySelectorAll('main, .a4, .a5, article')].map(e => e.innerText).join('\\n')
    .split('\\n').map(line => line.trim()).filter(Boolean), document.querySelectorAll('table').length,
    [...document.querySelectorAll('svg')].filter(e => e.getClientRects().length).length]; }"""  # at this width
# Sound in the browser, and figures to look closer into, are made by scripts; without one these presses do not show.
_FOR_SCRIPTS = """() => {
  for (const part of document.querySelectorAll('details.closer, .pulse, [data-print]')) part.remove();
  for (const part of document.querySelectorAll('.hear, .hearing')) (part.closest('section') ?? part).remove(); }"""


@pytest.mark.parametrize("name", PAGES)
def test_with_scripts_off_every_word_and_table_is_there(
    open_page: Callable[..., Page], lesson: Lesson, name: str
) -> None:
    told = []
    for scripts in (True, False):
        page = open_page(path_of(lesson, name), 1280, java_script_enabled=scripts)
        page.evaluate(_FOR_SCRIPTS)
        told.append(page.evaluate(_WORDS))
    (words, tables, pictures), (bare_words, bare_tables, bare_pictures) = told
    assert set(words) <= set(bare_words) and len(bare_words) > 1
    assert (bare_tables, bare_pictures) == (tables, pictures)
