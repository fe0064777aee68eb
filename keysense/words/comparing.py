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

_HEARD = ("asked and heard", "asked, the other way came", "heard, not asked")


def dimension_lead(dimension: Dimension) -> str:
    """The name a dimension has on pages."""
    return word(f"dim.{dimension.name}")


def say_dimension(dimension: Dimension, names: tuple[str, str]) -> str:
    """What differs in one dimension; a difference is claimed only where its outcome says that it was heard."""
    a, b, difference = dimension.a, dimension.b, dimension.difference
    if a.value is None or b.value is None or difference.value is None:
        return start_large(
            word("dim.missing", why=translated(difference.why_missing or a.why_missing or b.why_missing))
        )
    if dimension.outcome == "can't tell yet":
        return start_large(word("dim.unsure", n=counted("n.notes", difference.n)))
    went = "same" if dimension.outcome not in _HEARD else "up" if difference.value > 0 else "down"
    slots = {"a": names[0], "b": names[1], "va": figure(a.value, a.unit), "vb": figure(b.value, b.unit)}
    return start_large(word(f"dim.{dimension.name}.{went}", **slots))


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
    """Which take was louder; None where it cannot be told."""
    dimension = comparison.one("loudness")
    value = dimension.difference.value
    if value is None or dimension.outcome == "can't tell yet":
        return None
    if dimension.outcome not in _HEARD:
        return "alike"
    return "second" if value > 0 else "first"


def dimension_to_try(comparison: Comparison, names: tuple[str, str]) -> tuple[int, str] | None:
    """Which of the two takes to play again, and with which wish: the first that was asked and not heard."""
    asked = comparison.open_wish("asked, not yet heard", "asked, the other way came", "can't tell yet")
    return None if asked is None else (asked[0], say_wish(asked[1], names[asked[0]]))
