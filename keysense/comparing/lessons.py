"""The first playing of a day beside the last of the lesson before: what stayed, what grew, what wants another listen.

Conventions
    Only dimensions in which something was wished. "grew overnight": a difference in the wished direction is claimed (as
    between any two takes, five in a hundred pages of all dimensions together). "needs another listen": one in the
    other direction is; for the teacher only. "kept": a clear loss can be ruled out. Else "can't tell yet".

Findings
    One word a wished dimension, from the differences of `keysense.comparing.compare`.

References
    None: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from keysense.comparing.characters import WISHES, Character
from keysense.comparing.compare import Dimension, compare
from keysense.comparing.pianos import NOT_SURVEYED, without_loudness
from keysense.findings import Reading
from keysense.practice import Practice

__all__ = ["Overnight", "overnight"]

OvernightWord = Literal["grew overnight", "kept", "needs another listen", "can't tell yet"]


@dataclass(frozen=True)
class Overnight:
    """One dimension: what was wished, both playings in it (the difference is the first minus the last), the word."""

    wish: str
    dimension: Dimension
    word: OvernightWord

    @property
    def name(self) -> str:
        """Which dimension."""
        return self.dimension.name

    def to_json(self) -> dict[str, Any]:
        """Plain types only."""
        difference = self.dimension.difference.to_json()
        return {"name": self.name, "wish": self.wish, "difference": difference, "word": self.word}


def overnight(
    last: Reading, first: Reading, wants: Character, *, practice: Practice | None = None, loudness: bool = True
) -> tuple[Overnight, ...]:
    """What became of the wishes of a character from the last playing of one lesson to the first of the next.

    loudness: False where they were played on two pianos whose touch is not known, so that it is not judged.
    """
    both = [compare(last, first, wants_b=asked, practice=practice) for asked in (wants, _turned(wants))]
    for_it, against = both if loudness else [without_loudness(one, NOT_SURVEYED) for one in both]
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
        found.append(Overnight(wish, one, word))
    return tuple(found)


def _turned(wants: Character) -> Character:
    """The opposite of every wish: what can be ruled out against it is a loss."""
    opposite = {wish: other for pair in WISHES.values() for wish, other in (pair, pair[::-1])}
    return Character(wants.word, wishes={name: opposite[wish] for name, wish in wants.wishes.items()})
