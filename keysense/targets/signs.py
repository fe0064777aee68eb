"""Marks that stand at a note: articulations, ornaments, fermatas, breaths, chords to be spread."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from keysense.targets.played import Played, PlayedNote
from keysense.targets.target import Mark, MarkKind

__all__ = ["Found", "note_ids_between", "note_marks"]

_KINDS: dict[str, MarkKind] = {
    "staccato": "staccato", "tenuto": "tenuto", "accent": "accent", "fermata": "fermata", "breath": "breath",
    "spread": "spread", "ornament": "ornament",
}  # fmt: skip


@dataclass(frozen=True)
class Found:
    """A mark and the played bar it begins in."""

    mark: Mark
    bar: int


def note_ids_between(
    played: Played, start: Fraction, end: Fraction, *, voices: set[tuple[str, str]] | None = None, hand: str = ""
) -> tuple[str, ...]:
    """Ids of the notes whose onset lies from ``start`` up to and not including ``end``."""
    return tuple(
        note.id
        for note in played.notes_from(start, end, closed=False)
        if (voices is None or (note.head.hand, note.head.voice) in voices) and (not hand or note.head.hand == hand)
    )


def note_marks(played: Played) -> list[Found]:
    """Articulations, ornaments, fermatas, breaths and spread chords at notes: one mark a chord and kind."""
    chords: dict[tuple[Fraction, str, str, bool], list[PlayedNote]] = {}
    for note in played.notes:
        key = (note.onset, note.head.hand, note.head.voice, note.head.is_grace)
        chords.setdefault(key, []).append(note)
    return [row for chord in chords.values() for row in _chord_marks(chord)]


def _chord_marks(chord: list[PlayedNote]) -> list[Found]:
    found: dict[tuple[str, str], Found] = {}
    ids = tuple(note.id for note in chord)
    for note in chord:
        for onset, end, kind, value, id_ in note.signs:
            if kind in _KINDS and (kind, value) not in found:
                if kind in ("staccato", "tenuto", "accent", "spread", "ornament"):
                    onset, end = note.onset, note.end
                start = end if kind == "breath" else onset
                mark = Mark(_KINDS[kind], float(start), float(end), id_, note.head.hand, value, ids)
                found[kind, value] = Found(mark, note.bar)
    return list(found.values())
