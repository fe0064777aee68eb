"""The marks of the heard lane: for each note of the page that did not sound as written, which mark and what it says.

Where the following is less sure of a note than the row ``lane_sure`` of the table of practice asks, that note has one
mark: can't tell. No other mark stands there, since each of them would say more than is known.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from keysense.finding import Place
from keysense.following.following import EXTRA, MATCH, SUBSTITUTION
from keysense.plots.signs import MarkName
from keysense.practice import read_practice
from keysense.targets.target import page_id
from keysense.words.catalogue import word
from keysense.words.figures import place_words

if TYPE_CHECKING:
    from keysense.findings.reading import Reading

__all__ = ["NoteMark", "note_marks"]


@dataclass(frozen=True)
class NoteMark:
    """One mark at one notehead of the page."""

    note_id: str
    name: MarkName
    bar: int
    hand: str
    title: str
    letter: str = ""


def note_marks(reading: Reading, *, sure: float | None = None) -> tuple[NoteMark, ...]:
    """Every mark of a take in the order of the music, each kind at most once a notehead.

    sure: the confidence (0..1) below which a note gets no other mark than can't tell; that of the table where None.
    """
    limit = read_practice().value("lane_sure") if sure is None else sure
    unsure = _unsure(reading, limit)
    marks = [*_others(reading), *_gaps(reading), *_waits(reading), *_extras(reading)]
    open_ids = {mark.note_id for mark in unsure}
    marks = [*unsure, *(mark for mark in marks if mark.note_id not in open_ids)]
    order = {str(note_id): row for row, note_id in enumerate(reading.target.notes["id"])}
    marks.sort(key=lambda mark: order.get(mark.note_id, 0))
    return tuple({(page_id(mark.note_id), mark.name): mark for mark in reversed(marks)}.values())[::-1]


def _unsure(reading: Reading, limit: float) -> list[NoteMark]:
    """Notes whose pair is too uncertain; one left out between two such notes; and the note before such an extra."""
    pairs = reading.following.pairs[np.argsort(reading.following.pairs["played"], kind="stable")]
    believed = np.full(len(reading.target.notes), np.nan)
    before = -1
    for pair in pairs:
        row = int(pair["target"]) if pair["target"] >= 0 else before
        if row >= 0:
            believed[row] = np.fmin(believed[row], pair["confidence"])
        before = row
    known = np.flatnonzero(~np.isnan(believed))
    for row in reading.following.omitted:
        beside = [*known[known < row][-1:], *known[known > row][:1]]
        if beside and all(believed[other] < limit for other in beside):
            believed[row] = min(believed[other] for other in beside)
    return [_mark(reading, int(row), "unsure") for row in np.flatnonzero(believed < limit)]


def _others(reading: Reading) -> list[NoteMark]:
    """Another pitch for this note; put back where a later sounding of it was right."""
    pairs = reading.following.pairs
    put_back = set(pairs["target"][(pairs["kind"] == MATCH) & (pairs["passing"] > 0)].tolist())
    rows = pairs[pairs["kind"] == SUBSTITUTION]
    return [
        _mark(reading, int(row["target"]), "other", int(row["played"]), back=int(row["target"]) in put_back)
        for row in rows
    ]


def _gaps(reading: Reading) -> list[NoteMark]:
    return [_mark(reading, int(row), "gap") for row in reading.following.omitted]


def _waits(reading: Reading) -> list[NoteMark]:
    rows = {str(note_id): row for row, note_id in enumerate(reading.target.notes["id"])}
    places = [place for finding in reading.named("waits") for place in finding.places]
    return [_mark(reading, rows[place.mark], "wait") for place in places if place.mark in rows]


def _extras(reading: Reading) -> list[NoteMark]:
    """A note more than written stands after the note that was followed just before it."""
    pairs = reading.following.pairs[np.argsort(reading.following.pairs["played"], kind="stable")]
    followed = pairs["target"][pairs["target"] >= 0]
    marks, before = [], int(followed[0]) if len(followed) else -1
    for pair in pairs:
        if pair["kind"] == EXTRA and before >= 0:
            marks.append(_mark(reading, before, "extra", int(pair["played"])))
        before = int(pair["target"]) if pair["target"] >= 0 else before
    return marks


def _mark(reading: Reading, row: int, name: MarkName, played: int = -1, *, back: bool = False) -> NoteMark:
    note = reading.target.notes[row]
    bar, hand = int(note["bar"]), str(note["hand"])
    sounded = _letter(int(reading.take.notes["pitch"][played])) if played >= 0 else ""
    place = place_words(Place((bar, bar), "L" if hand == "L" else "R" if hand == "R" else None))
    key = f"mark.{name}.back" if back else f"mark.{name}"
    title = word(key, place=place, sounded=sounded, written=_letter(int(note["pitch"])))
    return NoteMark(page_id(str(note["id"])), name, bar, hand, title, sounded)


def _letter(pitch: int) -> str:
    return word(f"note.{pitch % 12}")
