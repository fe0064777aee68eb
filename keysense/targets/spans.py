"""Signs with a beginning and an end, paired: slurs, wedges and pedal lines, over repeats and across staves.

A span that is still open where the playing jumps (into another ending, back to a repeat) ends there, as it does under
the hands.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from keysense.targets.played import Played, PlayedNote, PlayedSign
from keysense.targets.signs import Found, note_ids_between
from keysense.targets.target import Mark

__all__ = ["Span", "paired_signs", "slurs"]


@dataclass(frozen=True)
class _End:
    """One end of a slur. Sorting puts grace notes before their note, and a stop before a start on one note."""

    at: Fraction
    is_main: bool
    is_start: bool
    order: int
    note: PlayedNote
    number: str
    id: str

    def key(self) -> tuple[Fraction, bool, bool, int]:
        """The order in which a player meets it."""
        return self.at, self.is_main, self.is_start, self.order


def slurs(played: Played) -> list[Found]:
    """Every slur that opens and closes, as a mark over the notes of its voice."""
    open_: list[_End] = []
    found = []
    for end in sorted(_ends(played), key=_End.key):
        if end.is_start:
            open_.append(end)
            continue
        fitting = [row for row in open_ if row.number == end.number and row.note.head.part == end.note.head.part]
        if fitting:
            start = min(reversed(fitting), key=lambda row: _distance(row.note, end.note))
            open_.remove(start)
            found.append(_slur(played, start, end.note))
    for start in open_:
        last = _last_before_jump(played, start.note)
        if last is not None:
            found.append(_slur(played, start, last))
    return found


def _distance(start: PlayedNote, end: PlayedNote) -> tuple[bool, bool]:
    return start.head.voice != end.head.voice, start.head.hand != end.head.hand


def _ends(played: Played) -> list[_End]:
    ends = []
    for order, note in enumerate(played.notes):
        for _, _, kind, number, id_ in note.signs:
            if kind in ("slur start", "slur stop"):
                is_start = kind == "slur start"
                ends.append(_End(note.onset, not note.head.is_grace, is_start, order, note, number, id_))
    return ends


def _last_before_jump(played: Played, start: PlayedNote) -> PlayedNote | None:
    """The last note of that voice before the playing jumps; None where it never does."""
    jump = _next_jump(played, start.bar)
    if jump is None:
        return None
    voice = (start.head.hand, start.head.voice)
    later = [
        note
        for note in played.notes_from(start.onset, jump, closed=False)
        if (note.head.hand, note.head.voice) == voice and note.onset > start.onset and not note.head.is_grace
    ]
    return later[-1] if later else None


def _next_jump(played: Played, bar: int) -> Fraction | None:
    return next((row.start for row in played.bars[bar + 1 :] if row.jumped), None)


def _slur(played: Played, start: _End, end: PlayedNote) -> Found:
    """The mark over the notes of the voice, from the first to the last; graces before the first note stay outside."""
    voices = {(note.head.hand, note.head.voice) for note in (start.note, end)}
    near = played.notes_from(start.at, end.onset, closed=True)
    inside = [note for note in near if (note.head.hand, note.head.voice) in voices]
    if start.note.head.is_grace:
        inside = inside[inside.index(start.note) :]
    else:
        inside = [note for note in inside if not (note.head.is_grace and note.onset == start.at)]
    ids = tuple(note.id for note in inside)
    mark = Mark("slur", float(start.at), float(end.onset), start.id, start.note.head.hand, "", ids)
    return Found(mark, start.note.bar)


@dataclass(frozen=True)
class Span:
    """A sign that opens at ``start`` and closes at ``end`` quarters."""

    start: PlayedSign
    end: Fraction

    def found(self, played: Played, mark: Mark) -> Found:
        """The mark with this span's place, hand, id and notes."""
        sign = self.start.sign
        ids = note_ids_between(played, self.start.at, self.end, hand=sign.hand)
        placed = Mark(mark.kind, float(self.start.at), float(self.end), sign.id, sign.hand, mark.value, ids)
        return Found(placed, self.start.bar)


def paired_signs(played: Played, events: Iterable[PlayedSign], name: str, opening: Iterable[str]) -> list[Span]:
    """Spans of one sign (``wedge``, ``pedal``, ``dashes``); one that never closes lasts to the next jump or the end."""
    starts = {f"{name} {kind}" for kind in opening}
    open_: list[PlayedSign] = []
    spans = []
    for event in events:
        if event.sign.kind == f"{name} stop":
            fitting = [row for row in open_ if (row.sign.number, row.sign.part) == (event.sign.number, event.sign.part)]
            if fitting:
                start = min(reversed(fitting), key=lambda row: row.sign.hand != event.sign.hand)
                open_.remove(start)
                spans.append(Span(start, event.at))
        elif event.sign.kind in starts:
            open_.append(event)
    spans += [Span(start, _next_jump(played, start.bar) or played.end) for start in open_]
    return sorted(spans, key=lambda span: span.start.at)
