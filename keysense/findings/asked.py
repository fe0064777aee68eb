"""What is asked of one take: the page's marks and the character's, and which of them stands where they disagree.

Conventions
    A character's wish stands above the page: who is asked to let the notes go is not asked to join those under a
    printed slur, nor to hold those under a line; who is asked to join them is not asked to play the printed dots short.
    Marks that ask the same as the wish stay, and so do all marks of the character's own. What is printed stays printed.

Findings
    None of its own: the marks that the questions look at.

References
    None: common practice, no source.
"""

from __future__ import annotations

from typing import Protocol

from keysense.targets.target import Mark, Target

__all__ = ["Asked", "marks_asked"]

_AGAINST = {("touch", "apart"): ("slur", "tenuto"), ("touch", "joined"): ("staccato",)}


class Asked(Protocol):
    """What this room needs to know of a character: its word, its wishes by dimension, its own marks."""

    @property
    def word(self) -> str:
        """The word it goes by."""

    @property
    def wishes(self) -> dict[str, str]:
        """The direction wished for in each dimension."""

    @property
    def marks(self) -> tuple[Mark, ...]:
        """Marks of its own, beside those of the page."""


def marks_asked(target: Target, character: Asked | None) -> tuple[Mark, ...]:
    """The marks of the page that the character does not speak against, and those of the character."""
    if character is None:
        return target.marks_asked()
    against = {kind for wish in character.wishes.items() for kind in _AGAINST.get(wish, ())}
    of_page = [mark for mark in target.marks_asked(character.word) if mark.layer or mark.kind not in against]
    return (*of_page, *character.marks)
