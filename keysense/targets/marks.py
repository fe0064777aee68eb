"""The signs of the page as marks with a span: slurs, hairpins, articulations, dynamics, fermatas, breaths, words.

Conventions
    A mark's ``start_quarter`` and ``end_quarter`` are quarters as played. Slurs: onsets of the first and the last note.
    Hairpins: where the wedge opens and closes; words (``cresc.``) last until their dashes end, else until the next
    dynamic or hairpin of that hand. Dynamics: until the next dynamic of that hand; an accent-like one (sfz) its note
    only. Articulations and fermatas: their note, one mark a chord. Breaths: both ends where the breath is, that is the
    end of the note before, whose ids they carry. ``hand`` is the staff's; empty where the sign names no staff, and for
    loudness between the staves (`keysense.targets.between`).
    Ids are those of the file, else ``slur-r3-1``: kind, hand (``b`` both), bar, how many of that kind in the bar.
References
    MusicXML 4.0, elements slur, wedge, dynamics, articulations, fermata, words, metronome. What words such as rit. and
    a tempo begin and end: common practice, no source.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction

from keysense.targets.directions import direction_marks
from keysense.targets.played import Played
from keysense.targets.signs import Found, note_marks
from keysense.targets.spans import slurs
from keysense.targets.target import Mark

__all__ = ["read_marks"]


def read_marks(played: Played) -> tuple[tuple[Mark, ...], float | None]:
    """The marks in playing order, and the written tempo in quarters a minute, None where the page has none."""
    found = [*slurs(played), *note_marks(played)]
    directions, tempo_qpm = direction_marks(played)
    found += directions
    found += _rests(played)
    found.sort(key=lambda row: (row.mark.start_quarter, row.mark.kind, row.mark.hand == "L"))
    return tuple(_named(found, played)), tempo_qpm


def _named(found: list[Found], played: Played) -> list[Mark]:
    counts: Counter[str] = Counter()
    marks = []
    for row in found:
        bar = played.bars[row.bar]
        stem = f"{row.mark.kind}-{row.mark.hand.lower() or 'b'}{bar.number}"
        suffix = "" if bar.passing == 1 else f"~{bar.passing}"
        counts[stem + suffix] += 1
        id_ = row.mark.id or f"{stem}-{counts[stem + suffix]}"
        counts[id_ + suffix] += row.mark.id != ""
        if row.mark.id and counts[id_ + suffix] > 1:
            id_ = f"{stem}-{counts[stem + suffix]}"
        marks.append(replace(row.mark, id=id_ + suffix))
    return marks


def _rests(played: Played) -> list[Found]:
    """Where a hand that plays in this piece is silent: between two of its notes, and between two bars of them."""
    found = []
    for hand in ("R", "L"):
        reach: Fraction | None = None
        for note in played.notes:
            if note.head.hand != hand or note.head.is_grace:
                continue
            if reach is not None and note.onset > reach:
                found.append(Found(Mark("rest", float(reach), float(note.onset), "", hand), played.bar_at(reach)))
            reach = note.end if reach is None else max(reach, note.end)
    return found
