"""How many bars stand on a line, and the score text with its lines broken there.

Music is never shrunk to fit: a narrower page gets fewer bars a line.
"""

from __future__ import annotations

from itertools import pairwise
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import defusedxml.ElementTree as SafeTree

__all__ = ["broken_into_lines", "fitting_bars"]

# Width in user units, at the size the staff is engraved: what stands before the music, one onset, one short onset,
# one bar line.
_CLEF_AND_SIGNS = 150
_ONSET = 58
_SHORT_ONSET = 42
_BAR_LINE = 30
_NARROW_PAGE = 1100
_OFF_THE_PAGE = ("credit", "defaults", "movement-title", "work")


def broken_into_lines(text: str, bars_a_line: int | None, width: int) -> tuple[str, list[list[int]]]:
    """The MusicXML to engrave and, line by line, the numbers of its bars. A pick-up shares the first line.

    Raises ParseError or ValueError on a text that is no page.
    """
    root: Element = SafeTree.fromstring(text.encode("utf-8"), forbid_dtd=False)
    for tag in _OFF_THE_PAGE:
        for child in root.findall(tag):
            root.remove(child)
    for name in [*root.iter("part-name"), *root.iter("part-abbreviation")]:
        name.text = ""
    parts = [part.findall("measure") for part in root.findall("part")]
    if not parts or not parts[0]:
        raise ValueError("the page has no bars")
    count = bars_a_line or fitting_bars(parts, width)
    starts = _line_starts(parts[0], count)
    for part in parts:
        _break_before(part, starts)
    numbers = [_number(bar) for bar in parts[0]]
    edges = [0, *starts, len(numbers)]
    lines = [numbers[a:b] for a, b in pairwise(edges)]
    return ElementTree.tostring(root, encoding="unicode"), lines


def fitting_bars(parts: list[list[Element]], width: int) -> int:
    """The most bars a line that keep their natural distance: four, two or one."""
    widths = [max(_width(part[k]) for part in parts if k < len(part)) for k in range(len(parts[0]))]
    room = width - _CLEF_AND_SIGNS
    for count in (4, 2) if width >= _NARROW_PAGE else (2,):
        if max(sum(widths[k : k + count]) for k in range(0, len(widths), count)) <= room:
            return count
    return 1


def _width(bar: Element) -> float:
    """The natural width of a bar: that of its fullest voice."""
    voices: dict[str, float] = {}
    for note in bar.findall("note"):
        if note.find("chord") is None:
            voice = note.findtext("voice") or "1"
            short = note.find("grace") is not None or note.findtext("type") in ("eighth", "16th", "32nd", "64th")
            voices[voice] = voices.get(voice, 0.0) + (_SHORT_ONSET if short else _ONSET)
    return _BAR_LINE + max(voices.values(), default=_ONSET)


def _line_starts(bars: list[Element], count: int) -> list[int]:
    """Rows of the bars that begin a line, the first left out."""
    pick_up = 1 if len(bars) > 1 and bars[0].get("number") == "0" else 0
    starts = list(range(count + pick_up, len(bars), count))
    if starts and count > 2 and len(bars) - starts[-1] == 1:
        # One bar alone on the last line looks lost: the line before gives it one.
        starts[-1] -= 1
    return starts


def _break_before(part: list[Element], starts: list[int]) -> None:
    for row, bar in enumerate(part):
        for old in bar.findall("print"):
            bar.remove(old)
        if row == 0 or row in starts:
            # One line a page: each line becomes a picture of its own. Without any break verovio would choose its own.
            bar.insert(0, Element("print", {"new-page": "yes"}))


def _number(bar: Element) -> int:
    text = bar.get("number", "")
    return int(text) if text.lstrip("-").isdecimal() else 0
