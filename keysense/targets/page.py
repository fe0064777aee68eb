"""What stands on the page of a MusicXML file, in the order it stands there: bars, noteheads, signs.

Conventions
    Places are quarters from the start of their bar, exact fractions. Nothing is unfolded, joined or interpreted here:
    `keysense.targets.order` says in which order bars are played, `keysense.targets.marks` what the signs span.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from xml.etree.ElementTree import Element

__all__ = ["Notehead", "Page", "PageBar", "Piano", "Sign", "number_bars"]


@dataclass
class Notehead:
    """One sounding note element. ``signs`` are its own: (kind, value) such as ("slur start", "1")."""

    id: str
    bar: int
    place: Fraction
    length: Fraction
    hand: str
    voice: str
    is_grace: bool = False
    in_chord: bool = False
    finger: int = 0
    tie_start: bool = False
    tie_stop: bool = False
    part: int = 0
    signs: list[tuple[str, str, str]] = field(default_factory=list)


@dataclass(frozen=True)
class Sign:
    """One direction. ``kind`` is the element's name with its type ("wedge crescendo", "words"), ``number`` pairs
    a start with its stop, ``hand`` is empty where the direction names no staff of two, ``own_staff`` tells that
    it stands at a note or above its staff."""

    kind: str
    bar: int
    place: Fraction
    hand: str
    value: str = ""
    number: str = "1"
    id: str = ""
    part: int = 0
    own_staff: bool = False


@dataclass
class PageBar:
    """One bar of the page. ``length`` is what it holds, ``nominal`` what the time signature asks for."""

    number: int = 0
    implicit: bool = False
    name: str = ""
    length: Fraction = Fraction(0)
    nominal: Fraction = Fraction(4)
    forward: bool = False
    backward: int = 0
    endings: frozenset[int] = frozenset()
    jump: str = ""
    segno: bool = False
    coda: bool = False
    to_coda: bool = False
    fine: bool = False


@dataclass
class Page:
    """The whole page."""

    bars: list[PageBar] = field(default_factory=list)
    noteheads: list[Notehead] = field(default_factory=list)
    signs: list[Sign] = field(default_factory=list)


@dataclass(frozen=True)
class Piano:
    """The parts that make up the piano, each with the hand of its staves."""

    parts: tuple[Element, ...]
    hands: tuple[dict[int, str], ...]


def number_bars(bars: list[PageBar]) -> None:
    """Written numbers as whole numbers: a pick-up is bar 0, a bar without a number of its own keeps the last one."""
    first = bars[0]
    pick_up = len(bars) > 1 and (first.implicit or first.name == "0" or first.length < first.nominal)
    shift = 0
    if pick_up and len(bars) > 1 and bars[1].name == "2" and first.name == "1":
        shift = -1
    last = 0
    for index, bar in enumerate(bars):
        named = bar.name.isdecimal() and not bar.implicit
        if index == 0 and pick_up:
            bar.number = int(bars[1].name[:6]) + shift - 1 if bars[1].name.isdecimal() else 0
        elif named:
            bar.number = int(bar.name[:6]) + shift
        else:
            bar.number = last if bar.implicit else last + 1
        last = bar.number
