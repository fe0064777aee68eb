"""The words of a page in other words, so that nobody need look them up: before the fold, and behind it."""

from __future__ import annotations

from collections.abc import Iterable

from keysense.page import Panel
from keysense.words import word
from keysense.words.choosing import OUTCOMES

__all__ = ["meaning", "outcomes"]


def meaning(*terms: str, for_teacher: bool = False) -> Panel:
    """A word and a sentence for each of these terms, folded into one line."""
    rows = [{"word": word(f"mean.{term}"), "said": word(f"mean.{term}.said"), "outcome": ""} for term in terms]
    return Panel("meaning", word("meaning.name"), {"open": word("meaning.open"), "rows": rows}, for_teacher=for_teacher)


def outcomes(there: Iterable[str | None], *terms: str) -> list[Panel]:
    """The outcome words that stand behind the fold, each with its sign, in their fixed order; then other terms."""
    said = set(there)
    rows = [
        {"word": word(f"outcome.{outcome}"), "said": word(f"mean.{outcome}"), "outcome": outcome}
        for outcome in OUTCOMES
        if outcome in said
    ]
    rows += meaning(*terms).content["rows"]
    content = {"open": word("meaning.outcomes"), "rows": rows}
    return [Panel("meaning", word("meaning.name"), content, for_teacher=True)] if rows else []
