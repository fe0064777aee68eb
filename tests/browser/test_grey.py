"""Without any colour: what differs in meaning differs in form, and everything that carries meaning stands out."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, Page

from keysense.plots.signs import choice, head_thread, key_sign, lane_mark, outcome_sign, plain_sign
from keysense.plots.svg import Array, decoration
from keysense.web.files import STYLES
from keysense.web.render import HERE

if TYPE_CHECKING:
    from tests.browser.conftest import Lesson

pytestmark = pytest.mark.browser

OUTCOMES = (
    "asked and heard",
    "asked, not yet heard",
    "heard, not asked",
    "asked, the other way came",
    "can't tell yet",
)
FAMILIES: dict[str, dict[str, str]] = {
    "what came of a wish": {name: outcome_sign(name) for name in OUTCOMES},
    "nothing was asked": {"known": plain_sign(known=True), "unsure": plain_sign(known=False)},
    "marks at a notehead": {
        name: decoration(120, 60, lane_mark(name, 70, 30, 0.8, letter="E"))  # type: ignore[arg-type]
        for name in ("other", "wait", "gap", "extra", "unsure")
    },
    "hands and touch": {name: key_sign(name) for name in ("right", "left", "apart")},
    "where it grew": {name: choice(name) for name in ("middle", "end", "same")},
    "which was louder": {name: choice(name) for name in ("first", "second", "alike")},
    "listening": {name: head_thread(name) for name in ("listening", "cut")},  # type: ignore[arg-type]
}
DIFFERENT = 0.05  # of what is inked in either, this share at least is not inked in the other


@pytest.fixture(scope="module", params=["light", "dark"])
def grey(browser: Browser, request: pytest.FixtureRequest) -> Iterator[Page]:
    """An empty page of our styles with every colour taken out."""
    page = browser.new_page(color_scheme=request.param, viewport={"width": 400, "height": 200})
    styles = "\n".join((HERE / "static" / name).read_text("utf-8") for name in STYLES)
    page.set_content(f"<style>{styles}\nhtml {{ filter: grayscale(1); }}</style><div id=sign></div>")
    yield page
    page.close()


def drawn(page: Page, svg: str) -> Array:
    """The sign in grey, 0 black to 1 white."""
    page.evaluate("svg => { document.getElementById('sign').innerHTML = svg; }", svg)
    page.add_style_tag(content="#sign { width: 240px; } #sign svg { width: 240px; height: 120px; }")
    with Image.open(io.BytesIO(page.locator("#sign").screenshot())) as picture:
        return np.asarray(picture.convert("L"), float) / 255


def linear(grey_level: Array) -> Array:
    return np.where(grey_level <= 0.04045, grey_level / 12.92, ((grey_level + 0.055) / 1.055) ** 2.4)


def inked(picture: Array) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Where it stands out from its ground by 3 to 1, as WCAG 2.2 asks of marks (1.4.11)."""
    light, ground = linear(picture), linear(picture[:2, :2]).mean()
    return np.maximum(light, ground) + 0.05 >= 3 * (np.minimum(light, ground) + 0.05)


@pytest.mark.parametrize("family", FAMILIES)
def test_each_sign_stands_out_and_no_two_have_one_form(grey: Page, family: str) -> None:
    forms = {name: inked(drawn(grey, svg)) for name, svg in FAMILIES[family].items()}
    for name, form in forms.items():
        assert form.sum() > 60, f"{name} is hardly seen"
    for (one, form), (other, beside) in combinations(forms.items(), 2):
        apart = (form ^ beside).sum() / (form | beside).sum()
        assert apart > DIFFERENT, f"{one} and {other} look alike in grey"


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", ["take", "two", "weeks", "spots", "shape"])
def test_words_in_drawings_are_read(open_page: Callable[..., Page], lesson: Lesson, name: str, scheme: str) -> None:
    """What a checker of HTML leaves undecided: text inside drawings, against the sheet it stands on."""
    page = open_page(lesson.paths()[name], 1280, color_scheme=scheme)
    pale = page.evaluate(
        """() => {
        const part = c => { c /= 255; return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4; };
        const light = c => { const [r, g, b] = c.match(/[\\d.]+/g).map(Number);
          return 0.2126 * part(r) + 0.7152 * part(g) + 0.0722 * part(b); };
        const under = e => { for (; e; e = e.parentElement) { const c = getComputedStyle(e).backgroundColor;
          if (!/, 0\\)|transparent/.test(c)) return c; } return 'rgb(255,255,255)'; };
        return [...document.querySelectorAll('main svg text')]
          .filter(e => e.textContent.trim() && !e.closest('.explore'))
          .filter(e => e.checkVisibility({ visibilityProperty: true }))
          .map(e => { const lights = [light(getComputedStyle(e).fill), light(under(e.closest('svg')))];
            return [e.textContent.trim().slice(0, 20), (Math.max(...lights) + 0.05) / (Math.min(...lights) + 0.05)]; })
          .filter(([, ratio]) => ratio < 4.5);
        }"""
    )
    assert pale == []
