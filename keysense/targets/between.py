"""Signs of loudness between the staves of a piano are for both hands.

Conventions
    A dynamic, a hairpin or its word that is written at the upper staff but not above it stands between the staves: it
    is for both hands, unless the lower staff has such a sign of its own before the next one of the upper staff, or a
    lasting one of its own is in force (one that only doubles the upper staff's is none of its own). Common practice,
    no source.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction

from keysense.targets.page import Sign
from keysense.targets.played import Played, PlayedSign
from keysense.targets.spans import paired_signs

__all__ = ["between_the_staves"]


def between_the_staves(
    played: Played, events: Sequence[PlayedSign], of_loudness: Callable[[Sign], bool], lasting: Callable[[Sign], bool]
) -> list[PlayedSign]:
    """The same signs, in their order, those between the staves with no hand."""
    grand = {part for part in _parts(played, "L") if part in _parts(played, "R")}
    lower, upper = (
        [row for row in events if row.sign.hand == hand and row.sign.part in grand and of_loudness(row.sign)]
        for hand in ("L", "R")
    )
    if not upper:
        return list(events)
    doubled = {(row.at, row.sign.kind, row.sign.value) for row in upper}
    own = [row.at for row in lower]
    held = [r.at for r in lower if lasting(r.sign) and (r.at, r.sign.kind, r.sign.value) not in doubled]
    closing = {id(span.start): span.end for span in paired_signs(played, events, "wedge", ("crescendo", "diminuendo"))}
    both = set()
    for row in upper:
        if not row.sign.own_staff and not any(at <= row.at for at in held):
            end = closing.get(id(row)) or _next(upper, row.at, played.end)
            both |= set() if any(row.at <= at < end for at in own) else {id(row)}
    return [replace(row, sign=replace(row.sign, hand="")) if id(row) in both else row for row in events]


def _parts(played: Played, hand: str) -> set[int]:
    return {note.head.part for note in played.notes if note.head.hand == hand}


def _next(rows: Sequence[PlayedSign], at: Fraction, end: Fraction) -> Fraction:
    return min((row.at for row in rows if row.at > at), default=end)
