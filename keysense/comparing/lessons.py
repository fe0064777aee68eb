"""The first playing of a day beside the last of the lesson before: what stayed, what grew, what wants another listen.

Conventions
    Only dimensions in which something was wished. "grew overnight": a difference in the wished direction is claimed (as
    between any two takes, five in a hundred pages of all dimensions together). "needs another listen": one in the
    other direction is; for the teacher only. "kept": a clear loss can be ruled out. Else "can't tell yet".
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

from keysense.comparing.characters import WISHES, Character
from keysense.comparing.compare import compare
from keysense.finding import Finding
from keysense.findings import Reading
from keysense.practice import Practice

__all__ = ["Overnight", "lesson_pairs", "overnight"]

OvernightWord = Literal["grew overnight", "kept", "needs another listen", "can't tell yet"]


@dataclass(frozen=True)
class Overnight:
    """One dimension: what was wished, the difference (the first playing minus the last before), the word."""

    name: str
    wish: str
    difference: Finding
    word: OvernightWord

    def to_json(self) -> dict[str, Any]:
        """Plain types only."""
        return {"name": self.name, "wish": self.wish, "difference": self.difference.to_json(), "word": self.word}


def overnight(
    last: Reading, first: Reading, wants: Character, *, practice: Practice | None = None
) -> tuple[Overnight, ...]:
    """What became of the wishes of a character from the last playing of one lesson to the first of the next."""
    for_it = compare(last, first, wants_b=wants, practice=practice)
    against = compare(last, first, wants_b=_turned(wants), practice=practice)
    found = []
    for name, wish in wants.wishes.items():
        one, other = for_it.one(name), against.one(name)
        word: OvernightWord = "can't tell yet"
        if one.outcome == "asked and heard":
            word = "grew overnight"
        elif one.outcome == "asked, the other way came":
            word = "needs another listen"
        elif other.outcome == "asked, not yet heard":
            word = "kept"
        found.append(Overnight(name, wish, one.difference, word))
    return tuple(found)


def _turned(wants: Character) -> Character:
    """The opposite of every wish: what can be ruled out against it is a loss."""
    opposite = {wish: other for pair in WISHES.values() for wish, other in (pair, pair[::-1])}
    return Character(wants.word, wishes={name: opposite[wish] for name, wish in wants.wishes.items()})


def lesson_pairs(days: Sequence[date]) -> list[tuple[int, int]]:
    """Rows of (last playing of a day, first of the next day played), from the days of takes in the order played."""
    return [(k, k + 1) for k in range(len(days) - 1) if days[k] != days[k + 1]]
