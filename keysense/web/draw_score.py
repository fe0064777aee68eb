"""What the templates of a piece are given: its lines of music, the paper under them, and its notes to tap."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Any

import numpy as np
from markupsafe import Markup

from keysense.errors import TargetError
from keysense.plots.asked import STRIP, LineOfMusic, has_wedge, paper_under
from keysense.plots.signs import key_sign
from keysense.plots.svg import circle, decoration, path
from keysense.plots.tune import DrawnLine, drawn_lines
from keysense.targets.marking import place_at, say_place
from keysense.targets.target import Target, page_id
from keysense.words import word
from keysense.words.pieces import key_word

__all__ = ["score"]

# class of the style sheet, width in user units, bars a line: of an engraved page, and of a tune that has none
_ENGRAVED = (("wide", 1800, 4), ("mid", 1440, 4), ("tight", 900, 2))
_DRAWN = (("wide", 900, 8), ("mid", 700, 8), ("tight", 420, 4))
_LONG = 24  # bars; beyond it the page carries two sizes instead of three
_DRAWN_SCALE = 0.5


def score(content: dict[str, Any], only: str = "") -> dict[str, Any]:
    """The music at each width; a thread drawing where there is no page.

    only: the one width to draw it at; each of them where that is empty.
    """
    target: Target = content["target"]
    engraved = bool(target.source.musicxml)
    try:
        widths = [_width(content, *row, engraved=engraved) for row in _widths(target, only, engraved=engraved)]
    except TargetError:
        widths = [_width(content, *row, engraved=False) for row in _widths(target, only, engraved=False)]
    marks = [mark for mark in target.marks_asked(content["layer"]) if mark.id not in _printed(content)]
    return {
        "widths": widths,
        "label": word("music.section", title=content["title"]),
        "notes": word("mark.notes", title=content["title"]),
        "signs": [_key(name) for name in ("phrase", "guide", "slur", "hairpin") if _is_there(name, target, marks)],
    }


def _widths(target: Target, only: str, *, engraved: bool) -> Sequence[tuple[str, int, int]]:
    rows: Sequence[tuple[str, int, int]] = _ENGRAVED if engraved else _DRAWN
    if len(target.bars) > _LONG:
        rows = (("wide mid", *rows[1][1:]), rows[2])
    return [row for row in rows if not only or only in row[0].split()]


def _width(content: dict[str, Any], cls: str, width: int, bars: int, *, engraved: bool) -> dict[str, Any]:
    target, title = content["target"], content["title"]
    lines: Sequence[Any] = drawn_lines(target, title, width=width, bars_a_line=bars)
    if engraved:
        from keysense.engraving import engrave

        lines = engrave(target, width=width, bars_a_line=bars if len(target.bars) > bars else None).systems
    return {"cls": cls, "systems": [_system(content, line, cls) for line in lines]}


def _system(content: dict[str, Any], line: Any, cls: str) -> dict[str, Any]:
    target: Target = content["target"]
    scale = _DRAWN_SCALE if isinstance(line, DrawnLine) else 1.0
    printed = _printed(content)
    paper = paper_under(target, line, layer=content["layer"], engraved=printed, scale=scale)
    heads = _heads(target, line, cls, 24 * scale) if content["heads"] else ""
    svg = line.svg.replace("</svg>", _dots(line) + "</svg>") if isinstance(line, DrawnLine) else line.svg
    strip = STRIP * scale if has_wedge(target, line, content["layer"], printed) else 0.0
    height = line.height + strip
    return {
        "svg": Markup(svg),  # noqa: S704 - drawn by our own engraver, or our own drawing
        "label": word("music.label", title=content["title"], first=line.first_bar, last=line.last_bar),
        "box": f"0 0 {line.width:g} {height:g}",
        "strip": f"{100 * strip / line.width:.2f}%",
        "under": Markup(paper + heads),  # noqa: S704 - our own drawings, their words escaped
    }


def _dots(line: DrawnLine) -> str:
    """Each note of a drawn tune, to be seen on its thread."""
    return "".join(circle("dot", line.note_x[id_], line.note_y[id_], 4.5) for id_ in line.note_x)


def _printed(content: dict[str, Any]) -> set[str]:
    """Hairpins that the engraver draws: those of the page itself."""
    marks = content["target"].marks
    hairpins = (mark for mark in marks if mark.kind in ("crescendo", "diminuendo") and not mark.layer)
    return {mark.id for mark in hairpins if page_id(mark.id) not in content["own"]}


def _heads(target: Target, line: LineOfMusic, cls: str, radius: float) -> str:
    """One ring a note, in the order of the music, upper hand first; a script makes them places to walk through."""
    notes = target.notes[~target.notes["is_grace"] & np.isin(target.notes["id"], list(line.note_x))]
    order = np.lexsort((-notes["pitch"].astype(int), notes["onset_quarter"]))
    return "".join(_head(target, note, line, cls.split()[0], radius) for note in notes[order])


def _head(target: Target, note: np.void, line: LineOfMusic, cls: str, radius: float) -> str:
    id_, pitch, hand = str(note["id"]), int(note["pitch"]), str(note["hand"])
    bar, quarter = place = place_at(target, float(note["onset_quarter"]))
    two = len(target.hands) > 1
    slots: dict[str, Any] = {"bar": bar, "quarter": f"{quarter:g}", "key": key_word(pitch)}
    said = word("mark.note.hand", hand=word(f"hand.{hand}"), **slots) if two and hand else word("mark.note", **slots)
    return (
        f'<g class="head" id="{cls}-{escape(page_id(id_))}" data-place="{say_place(place)}" data-pitch="{pitch}" '
        f'data-hand="{hand if two else ""}" data-said="{escape(said)}">'
        f'<circle cx="{line.note_x[id_]:.1f}" cy="{line.note_y[id_]:.1f}" r="{radius:g}"/></g>'
    )


def _is_there(name: str, target: Target, marks: Sequence[Any]) -> bool:
    kinds = {mark.kind for mark in marks}
    slurs = any(mark.kind == "slur" and mark.layer for mark in marks)
    there = {"slur": slurs, "phrase": len(target.phrases) > 1 or "breath" in kinds, "guide": "guide" in kinds}
    return there.get(name, bool(kinds & {"crescendo", "diminuendo"}))


def _key(name: str) -> dict[str, Any]:
    drawn = {
        "phrase": lambda: decoration(46, 22, path("paper", "M18 1H28V15L24 19H18Z"), sized=True),
        "slur": lambda: decoration(46, 22, path("paper", "M2 19Q23 -9 44 19Q23 3 2 19Z"), sized=True),
        "guide": lambda: decoration(46, 22, '<circle class="paper" cx="23" cy="11" r="9"/>', sized=True),
        "hairpin": lambda: key_sign("asked"),
    }[name]()
    return {"sign": Markup(drawn), "said": word(f"piece.key.{name}")}  # noqa: S704 - our own drawings
