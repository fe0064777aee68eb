"""Sentences of rooms that know nothing of words (reasons, faults, what commands say), looked up like all others.

``said_elsewhere.txt`` holds them in English, a template a line, slots numbered ``{1}``; it is written from the code by
``make docs``. A sentence is recognised by its template, the template is translated, and what stood in the slots is
filled in again, itself translated where it is such a sentence. Without a translation a sentence stays as it is.
"""

from __future__ import annotations

import gettext
import re
from collections.abc import Sequence
from functools import cache
from importlib.resources import files

from keysense.words import catalogue

__all__ = ["templates", "translated"]

_SLOT = re.compile(r"\{(\d+)\}")
_DEEPEST = 4


@cache
def templates() -> tuple[str, ...]:
    """Every template, those that say most before those that are mostly slots."""
    lines = files("keysense.words").joinpath("said_elsewhere.txt").read_text("utf-8").splitlines()
    return tuple(sorted(lines, key=lambda line: (-len(_SLOT.sub("", line)), line)))


def translated(text: str) -> str:
    """The sentence in the language that is spoken."""
    speaks = catalogue.translation()
    return _translated(text, speaks, 0) if isinstance(speaks, gettext.GNUTranslations) else text


def _translated(text: str, speaks: gettext.NullTranslations, depth: int) -> str:
    whole = speaks.gettext(text) if text.strip() else text
    if whole != text or depth > _DEEPEST or not text.strip():
        return whole
    for template, pattern in _patterns():
        found = pattern.fullmatch(text)
        if found is not None and template != "{1}":
            filled = [_translated(slot, speaks, depth + 1) for slot in found.groups()]
            return _filled(speaks.gettext(template), filled)
    return text


def _filled(template: str, slots: Sequence[str]) -> str:
    return _SLOT.sub(lambda slot: slots[int(slot[1]) - 1], template)


@cache
def _patterns() -> tuple[tuple[str, re.Pattern[str]], ...]:
    return tuple((line, re.compile(_pattern(line), re.S)) for line in templates() if _SLOT.search(line))


def _pattern(template: str) -> str:
    return "".join("(.*?)" if k % 2 else re.escape(part) for k, part in enumerate(_SLOT.split(template)))
