"""Figures and places in words: rounded as they can be heard, minus said as a word, ratios in hundredths."""

from __future__ import annotations

import re
from collections.abc import Sequence

from keysense.finding import Finding, Place
from keysense.units import Unit
from keysense.words.catalogue import has_word, word

__all__ = [
    "WEEKS",
    "breath_places",
    "figure",
    "figures",
    "grain",
    "listed",
    "place_words",
    "places_words",
    "sentence",
    "size",
    "start_large",
]


# How finely each unit is said below ten, in decimals; from ten on none, for nothing here is known so well. Common
# practice, no source: steps finer than these are not heard.
_DECIMALS: dict[Unit, int] = {
    "quarters/min": 0, "%": 1, "ms": 0, "velocity": 0, "1": 0, "count": 0, "quarters": 1,
}  # fmt: skip


WEEKS = 1  # decimals below ten of the middle of a week, which rests on more than one take


def figure(value: float, unit: Unit, decimals: int | None = None) -> str:
    """A value in words of its unit's grain: ``1`` is said in hundredths."""
    said = size(value, unit, decimals)
    return word("minus", size=said) if value < 0 and said.strip("0.") else said


def size(value: float, unit: Unit, decimals: int | None = None) -> str:
    """The same without its sign."""
    return f"{_scaled(value, unit):.{grain((value,), unit) if decimals is None else decimals}f}"


def figures(values: Sequence[float], unit: Unit, least: int = 0) -> list[str]:
    """Values that stand beside each other, all as finely as the largest: ``9.5`` beside ``9.0``, ``10`` beside ``12``.

    least: decimals that are said below ten whatever the unit.
    """
    decimals = grain(values, unit, least)
    return [figure(value, unit, decimals) for value in values]


def grain(values: Sequence[float], unit: Unit, least: int = 0) -> int:
    """The decimals with which values of one unit are said together."""
    most, decimals = max((_scaled(value, unit) for value in values), default=0.0), max(least, _DECIMALS[unit])
    return decimals if most < 10 - 0.5 * 10.0**-decimals else 0


def _scaled(value: float, unit: Unit) -> float:
    return abs(value) * (100.0 if unit == "1" else 1.0)


def place_words(place: Place) -> str:
    """``bars 5 and 6, right hand``; empty where the place is the whole take."""
    bars = "" if place.bars is None else _bars(*place.bars)
    hand = "" if place.hand is None else word(f"place.hand.{place.hand}")
    return word("place.both", bars=bars, hand=hand) if bars and hand else bars or hand


def places_words(finding: Finding, most: int = 4) -> str:
    """Where a count was heard, each place once, in order; at most so many."""
    said = list(dict.fromkeys(text for place in finding.places if (text := place_words(place))))
    return listed(said[:most] + (["…"] if len(said) > most else []))


def breath_places(finding: Finding, most: int = 4) -> str:
    """After which bars the tune breathed, and how; at most so many."""
    said = []
    for place in finding.places[:most]:
        where = place_words(Place(place.bars))
        known = bool(place.how) and has_word(f"breath.{place.how}")
        said.append(
            word("breath.how", place=where, how=word(f"breath.{place.how}"))
            if known
            else word("breath.after", place=where)
        )
    return listed(said + (["…"] if len(finding.places) > most else []))


def listed(parts: Sequence[str]) -> str:
    """``a``, ``a and b``, ``a, b and c``; all semicolons where a part holds a comma of its own."""
    if any("," in part for part in parts):
        return "; ".join(parts)
    if len(parts) < 2:
        return "".join(parts)
    return word("list.last", most=", ".join(parts[:-1]), last=parts[-1])


def sentence(said: str) -> str:
    """What may stand by itself on a page: it begins large, but where a file's name may stand there, and has an end."""
    begun = said if re.match(r"[^:]*\.[A-Za-z]", said) else start_large(said)
    return begun if said[-1:] in ".?!…" else f"{begun}."


def start_large(text: str) -> str:
    """A sentence begins large."""
    return text[:1].upper() + text[1:]


def _bars(first: int, last: int) -> str:
    if first == last:
        return word("place.bar", first=first)
    return word("place.bars.pair" if last == first + 1 else "place.bars.span", first=first, last=last)
