"""Contrast of every pair of colours that meets on the pages, by the formula of WCAG 2.2.

Source: W3C, Web Content Accessibility Guidelines 2.2, "contrast ratio" and "relative luminance"; criteria 1.4.3 (text,
4.5 to 1) and 1.4.11 (marks, 3 to 1).
"""

from __future__ import annotations

import re

import pytest

from keysense.web.render import HERE

TOKENS = (HERE / "static" / "tokens.css").read_text("utf-8")
TEXT, MARK = 4.5, 3.0

WORDS = [
    ("ink", "ground"), ("ink", "sheet"), ("ink", "back"), ("ink-2", "ground"), ("ink-2", "sheet"), ("ink-2", "back"),
    ("ink", "paper"), ("music", "sheet"), ("ground", "ink"),
]  # fmt: skip
SLIP_INK = "#16202A"  # the words on a slip, in the light and in the dark
MARKS = [
    (mark, under)
    for mark in ("line", "paper-edge", "thread-1", "thread-2", "thread-3", "ink")
    for under in ("ground", "sheet", "back")
] + [(thread, "paper") for thread in ("thread-1", "thread-2", "thread-3")]  # fmt: skip


def luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def tokens(scheme: str) -> dict[str, str]:
    light, _, rest = TOKENS.partition("@media (prefers-color-scheme: dark)")
    found = dict(re.findall(r"--([\w-]+): (#[0-9A-Fa-f]{6})", light))
    if scheme == "dark":
        dark = dict(re.findall(r"--([\w-]+): (#[0-9A-Fa-f]{6})", rest))
        assert set(dark) == set(found), "a colour has no twin in the dark"
        found.update(dark)
    return found


def test_the_formula_gives_what_the_guidelines_say() -> None:
    assert contrast("#FFFFFF", "#000000") == pytest.approx(21.0)
    assert contrast("#000000", "#000000") == pytest.approx(1.0)
    assert contrast("#767676", "#FFFFFF") >= TEXT > contrast("#777777", "#FFFFFF")  # the well-known border grey


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("words", "under"), WORDS)
def test_words_are_read(words: str, under: str, scheme: str) -> None:
    colour = tokens(scheme)
    assert contrast(colour[words], colour[under]) >= TEXT


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_words_on_a_slip_are_read(scheme: str) -> None:
    assert contrast(SLIP_INK, tokens(scheme)["slip"]) >= TEXT


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("mark", "under"), MARKS)
def test_marks_are_seen(mark: str, under: str, scheme: str) -> None:
    colour = tokens(scheme)
    assert contrast(colour[mark], colour[under]) >= MARK
