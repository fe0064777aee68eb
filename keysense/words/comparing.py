"""Two takes beside each other, in words: what differs, and one thing to try."""

from __future__ import annotations

from typing import TYPE_CHECKING

from keysense.words.catalogue import counted, word
from keysense.words.elsewhere import translated
from keysense.words.figures import figure, start_large
from keysense.words.trying import say_wish

if TYPE_CHECKING:
    from keysense.comparing import Comparison, Dimension

__all__ = ["dimension_lead", "dimension_to_try", "louder", "say_dimension", "say_guess"]

_RESTS_ON = {"loudness": "notes", "contrast": "notes", "breath": "phrase_ends"}


def dimension_lead(dimension: Dimension) -> str:
    """The name a dimension has on pages."""
    return word(f"dim.{dimension.name}")


def say_dimension(dimension: Dimension, names: tuple[str, str]) -> str:
    """What differs in one dimension, or that nothing does, each only where it is known."""
    a, b, difference = dimension.a, dimension.b, dimension.difference
    if a.value is None or b.value is None or difference.value is None:
        return start_large(
            word("dim.missing", why=translated(difference.why_missing or a.why_missing or b.why_missing))
        )
    if (row := _row(dimension)) is None:
        n = counted(f"n.{_RESTS_ON.get(dimension.name, 'steps')}", min(a.n, b.n))
        return start_large(word("dim.unsure", n=n))
    slots = {"a": names[0], "b": names[1], "va": figure(a.value, a.unit), "vb": figure(b.value, b.unit)}
    return start_large(word(f"dim.{dimension.name}.{row}", **slots))


def _row(dimension: Dimension) -> str | None:
    """Which way it went; where that is not known, but a wish can be told not to have come, that."""
    if dimension.way is None and dimension.outcome == "asked, not yet heard":
        return f"not.{dimension.wish}"
    return dimension.way


def say_guess(comparison: Comparison, guess: str, names: tuple[str, str]) -> str:
    """Which take the child heard louder (``first``, ``second`` or ``alike``), and which one was; never tallied."""
    said = {"first": names[0], "second": names[1], "alike": ""}[guess]
    heard = louder(comparison)
    ending = ".alike" if guess == "alike" else ""
    if heard is None:
        return word(f"pair.unsure{ending}", guess=said)
    if heard == guess:
        return word(f"pair.too{ending}", guess=said)
    if heard == "alike":
        return word("pair.they.alike", guess=said)
    return word(f"pair.other{ending}", guess=said, heard=names[0 if heard == "first" else 1])


def louder(comparison: Comparison) -> str | None:
    """Which take was louder, ``first``, ``second`` or ``alike``; None where it cannot be told."""
    way = comparison.one("loudness").way
    return None if way is None else {"up": "second", "down": "first", "same": "alike"}[way]


def dimension_to_try(comparison: Comparison, names: tuple[str, str]) -> tuple[int, str] | None:
    """Which of the two takes to play again, and with which wish: the first that was asked and not heard."""
    asked = comparison.open_wish("asked, not yet heard", "asked, the other way came", "can't tell yet")
    return None if asked is None else (asked[0], say_wish(asked[1], names[asked[0]]))
