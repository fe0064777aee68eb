"""A MusicXML score becomes a target.

Conventions
    Notes come from partitura, joined to the page by id, never by index; the signs that partitura does not keep are
    read from the page itself. Onsets count from the first full bar's start, so a pick-up is negative, in bar 0. Grace
    notes last 0 quarters and stand before their note. Cue notes and hidden notes are not asked for.
Traps met
    partitura reads whole-numbered lengths and alterations only and takes anything else for none, silently; its note
    arrays are float32 and prefix ids when parts are merged. So lengths are made whole first, each part is read by
    itself, and its ticks are turned into float64 here.
References
    MusicXML 4.0 (W3C Music Notation Community Group). Cancino-Chacón, Peter, Karystinaios et al. (2022), Partitura: a
    Python package for symbolic music processing, Proceedings of the Music Encoding Conference.
"""

from __future__ import annotations

import io
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import numpy as np

from keysense.errors import TargetError
from keysense.targets.marks import read_marks
from keysense.targets.order import playing_order
from keysense.targets.page import Page
from keysense.targets.phrases import phrases_of
from keysense.targets.piano import find_piano, name_noteheads
from keysense.targets.played import Played, lay_out
from keysense.targets.target import BAR, TARGET_NOTE, Source, Target
from keysense.targets.walk import walk
from keysense.targets.xmlfile import one_divisions, read_tree

__all__ = ["read_musicxml"]

_DECLARATION = '<?xml version="1.0" encoding="UTF-8"?>\n'
_LAST_VOICE = 999


@dataclass(frozen=True)
class Sounding:
    """One notehead as partitura reads it: ticks from the start of its bar and in length."""

    place: int
    length: int
    pitch: int
    voice: int
    is_grace: bool


def read_musicxml(
    path: str | Path, *, title: str | None = None, part: str | None = None, repeats: bool = True
) -> Target:
    """A target from a .musicxml, .xml or .mxl file.

    title: instead of the one in the file. part: name or id of the piano part, where the score has several.
    repeats: unfolded as played; False reads each bar once.
    Raises TargetError, in one line, naming the file, where known the bar, and what to do.
    """
    path = Path(path)
    root = read_tree(path)
    piano = find_piano(path, root, part)
    unit = one_divisions(path, list(piano.parts))
    name_noteheads(path, piano)
    page = walk(path, piano)
    if not page.noteheads:
        raise TargetError(f"{path} holds no notes for a piano: check that the right part was saved")
    sounding = _heard_by_partitura(path, root)
    _agree(path, page, sounding, unit)
    try:
        order = playing_order(page.bars, repeats=repeats)
    except TargetError as cause:
        raise TargetError(f"{path}: {cause}") from cause
    played = lay_out(page, order, {id_: row.pitch for id_, row in sounding.items()})
    _write_numbers(piano.parts, page)
    text = _DECLARATION + ElementTree.tostring(root, encoding="unicode")
    source = Source("score", title or _title(root) or path.stem, path.name, text)
    return _target(played, sounding, source)


def _target(played: Played, sounding: dict[str, Sounding], source: Source) -> Target:
    notes = np.zeros(len(played.notes), TARGET_NOTE)
    for row, note in zip(notes, played.notes, strict=True):
        heard = sounding[note.head.id]
        row["onset_quarter"], row["duration_quarter"] = float(note.onset), float(note.end - note.onset)
        row["pitch"], row["voice"], row["is_grace"] = heard.pitch, heard.voice, heard.is_grace
        row["hand"], row["bar"], row["finger"], row["id"] = note.head.hand, note.number, note.head.finger, note.id
    bars = np.zeros(len(played.bars), BAR)
    for row, bar in zip(bars, played.bars, strict=True):
        row["number"], row["start_quarter"], row["length_quarter"] = bar.number, float(bar.start), float(bar.length)
    marks, tempo_qpm = read_marks(played)
    return Target(notes, bars, phrases_of(notes, marks, bars), marks, tempo_qpm, source)


def _write_numbers(parts: tuple[Element, ...], page: Page) -> None:
    """The page carries the bar numbers that the target counts by."""
    for part in parts:
        for bar, row in zip(part.findall("measure"), page.bars, strict=False):
            bar.set("number", str(row.number))


def _title(root: Element) -> str:
    for tag in ("work/work-title", "movement-title"):
        text = " ".join((root.findtext(tag) or "").split())
        if text:
            return text[:200]
    return ""


def _heard_by_partitura(path: Path, root: Element) -> dict[str, Sounding]:
    """Every named notehead as partitura reads it, by id."""
    load = _partitura()
    try:
        parts = load(root)
    except Exception as cause:  # partitura raises whatever the line at hand raises
        bar = _first_bad_bar(load, root)
        raise TargetError(
            f"{path}, {bar}: this bar cannot be read ({' '.join(str(cause).split())[:80] or type(cause).__name__}): "
            "look at it in your notation program, write it again and save"
        ) from cause
    return {id_: row for part in parts for id_, row in _noteheads(part)}


def _partitura() -> Callable[[Element], list[Any]]:
    """The loader; partitura is imported here, on first use, since that takes seconds."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from partitura import load_musicxml

    def load(root: Element) -> list[Any]:
        data = ElementTree.tostring(root, encoding="utf-8", xml_declaration=True)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            parts: list[Any] = load_musicxml(io.BytesIO(data)).parts
        return parts

    return load


def _noteheads(part: Any) -> list[tuple[str, Sounding]]:
    rows = []
    bars = [(bar.start.t, bar.end.t) for bar in part.measures]
    starts = np.array([start for start, _ in bars])
    for note in part.notes:
        if not note.id:
            continue
        onset = note.start.t
        # A grace note after the last beat stands at the next bar's start, but in its own bar: the walk knows which.
        start = int(starts[np.searchsorted(starts, onset, side="right") - 1])
        grace = type(note).__name__ == "GraceNote"
        rows.append(
            (
                note.id,
                Sounding(
                    onset - start,
                    int(note.duration),
                    int(note.midi_pitch),
                    min(abs(int(note.voice or 1)), _LAST_VOICE),
                    grace,
                ),
            )
        )
    return rows


def _agree(path: Path, page: Page, sounding: dict[str, Sounding], unit: int) -> None:
    """Two readings of one page must agree on every notehead; else readers differ on what the file means."""
    for head in page.noteheads:
        heard = sounding.get(head.id)
        bar = page.bars[head.bar]
        lengths = heard is not None and Fraction(heard.length, unit) == head.length
        places = heard is not None and Fraction(heard.place, unit) in (head.place, head.place - bar.length)
        if not (lengths and (places or head.length == 0)):
            raise TargetError(
                f"{path}, bar {bar.number}: the lengths in this bar do not add up: check its voices in your notation "
                "program and save it again"
            )


def _first_bad_bar(load: Callable[[Element], list[Any]], root: Element) -> str:
    """The first bar after which partitura no longer reads the score, found by halving."""
    counts = [len(part.findall("measure")) for part in root.findall("part")]
    low, high = 0, max(counts)
    while high - low > 1:
        middle = (low + high) // 2
        try:
            load(_beginning(root, middle))
            low = middle
        except Exception:  # whatever partitura raises on a score it cannot read: it names no root of its own
            high = middle
    bar = next(
        part.findall("measure")[high - 1] for part in root.findall("part") if len(part.findall("measure")) >= high
    )
    return f"bar {bar.get('number', high)}"


def _beginning(root: Element, bars: int) -> Element:
    """The same score, its first bars only."""
    cut = Element(root.tag, root.attrib)
    for child in root:
        if child.tag == "part":
            part = Element("part", child.attrib)
            part.extend(child.findall("measure")[:bars])
            cut.append(part)
        else:
            cut.append(child)
    return cut
