"""What is left after the same-pitch pairing: brushed keys, first tries, and other notes played for a written one.

A brushed key is soft and short and goes down together with the key beside it: an extra. A first try is the same or a
neighbouring pitch shortly before the note that stands, with nothing of that hand between: it is paired with the same
note, one passing earlier. Another note is paired with a written note that nothing sounded, where it came about when
that note was due.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.pairing import Due, Sounding
from keysense.notes import Take

__all__ = ["brushed", "first_tries", "instead"]

Ints = npt.NDArray[np.int64]


def brushed(take: Take, rows: Ints, paired: set[int]) -> set[int]:
    """The rows that were brushed in passing."""
    notes = take.notes
    onset, pitch = notes["onset_s"], notes["pitch"].astype(int)
    out: set[int] = set()
    for row in rows.tolist():
        if notes["release_s"][row] - onset[row] > c.BRUSHED_MOST_S:
            continue
        low, high = np.searchsorted(onset, [onset[row] - c.BRUSHED_WITHIN_S, onset[row] + c.BRUSHED_WITHIN_S])
        for other in range(int(low), int(high)):
            beside = 0 < abs(pitch[other] - pitch[row]) <= 2
            if beside and other in paired and notes["velocity"][row] < c.BRUSHED_VELOCITY * notes["velocity"][other]:
                out.add(row)
                break
    return out


def first_tries(take: Take, rows: Ints, pair_of: dict[int, int]) -> list[tuple[int, int]]:
    """Pairs (row, index into due) of presses that were taken back and played again."""
    onset, pitch = take.notes["onset_s"], take.notes["pitch"].astype(int)
    out = []
    for row in rows.tolist()[::-1]:
        for later in range(row + 1, min(row + 8, len(onset))):
            gap = onset[later] - onset[row]
            if gap > c.FIRST_TRY_S[1]:
                break
            near = abs(pitch[later] - pitch[row]) <= c.FIRST_TRY_SEMITONES
            if later in pair_of and near and gap >= c.FIRST_TRY_S[0] and _silence(onset, row, later):
                out.append((row, pair_of[later]))
                pair_of[row] = pair_of[later]
                break
    return out


def _silence(onset: npt.NDArray[np.float64], row: int, later: int) -> bool:
    """Is there a gap between the two that takes most of the time between them?"""
    steps = np.diff(onset[row : later + 1])
    return bool(steps.max() > 0.55 * (onset[later] - onset[row]))


def instead(take: Take, rows: Ints, free: Ints, due: Due, sounding: Sounding) -> list[tuple[int, int]]:
    """Pairs (row, index into due) of other pitches played for notes that nothing sounded."""
    if not len(rows) or not len(free):
        return []
    onset, pitch = take.notes["onset_s"], take.notes["pitch"].astype(int)
    apart_s = np.abs(onset[rows][:, None] - due.time_s[free][None, :])
    apart = np.abs(pitch[rows][:, None] - sounding.pitch[due.note[free]][None, :])
    cost = apart_s / c.INSTEAD_WITHIN_S + np.minimum(apart, 24) / 8.0
    cost[apart_s > np.minimum(np.maximum(c.INSTEAD_WITHIN_S, 0.6 * due.within_s[free]), 0.6)[None, :]] = np.inf
    out, used_row, used_note = [], set(), set()
    for k in np.argsort(cost, axis=None):
        i, j = divmod(int(k), len(free))
        if not np.isfinite(cost[i, j]):
            break
        if i not in used_row and j not in used_note:
            used_row.add(i)
            used_note.add(j)
            out.append((int(rows[i]), int(free[j])))
    return out
