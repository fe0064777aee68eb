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

__all__ = ["brushed", "first_tries", "instead", "repeated"]

Ints = npt.NDArray[np.int64]


def brushed(take: Take) -> npt.NDArray[np.bool_]:
    """The presses that look brushed in passing: soft and short, going down together with the key beside."""
    notes = take.notes
    onset, pitch, velocity = notes["onset_s"], notes["pitch"].astype(np.int64), notes["velocity"].astype(np.float64)
    short = notes["release_s"] - onset < c.BRUSHED_MOST_S
    out = np.zeros(len(notes), bool)
    for step in range(1, 5):
        if step >= len(notes):
            break
        together = (onset[step:] - onset[:-step] < c.BRUSHED_WITHIN_S) & (np.abs(pitch[step:] - pitch[:-step]) <= 2)
        together &= pitch[step:] != pitch[:-step]
        out[step:] |= together & (velocity[step:] < c.BRUSHED_VELOCITY * velocity[:-step])
        out[:-step] |= together & (velocity[:-step] < c.BRUSHED_VELOCITY * velocity[step:])
    return out & short


def repeated(take: Take, rows: Ints, pair_of: dict[int, int]) -> list[tuple[int, int]]:
    """Pairs (row, index into due) of presses that sound a note once more soon after it was sounded."""
    onset, pitch = take.notes["onset_s"], take.notes["pitch"]
    out = []
    for row in rows.tolist():
        for before in range(row - 1, max(row - 10, -1), -1):
            gap = onset[row] - onset[before]
            if gap > c.FIRST_TRY_S[1]:
                break
            if pitch[before] == pitch[row]:
                if before in pair_of and gap >= c.AGAIN_FROM_S and _silence(onset, before, row):
                    out.append((row, pair_of[before]))
                    pair_of[row] = pair_of[before]
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


def instead(
    take: Take, rows: Ints, free: Ints, due: Due, sounding: Sounding, *, within_s: float, semitones: int
) -> list[tuple[int, int]]:
    """Pairs (row, index into due) of other pitches played for notes that nothing sounded, the closest first."""
    if not len(rows) or not len(free):
        return []
    onset, pitch = take.notes["onset_s"], take.notes["pitch"].astype(int)
    apart_s = np.abs(onset[rows][:, None] - due.time_s[free][None, :])
    apart = np.abs(pitch[rows][:, None] - sounding.pitch[due.note[free]][None, :])
    cost = apart_s / c.INSTEAD_WITHIN_S + apart / c.INSTEAD_SEMITONES
    reach = np.minimum(np.maximum(within_s, c.INSTEAD_REACH * due.within_s[free]), 4 * within_s)
    cost[(apart_s > reach[None, :]) | (apart > semitones)] = np.inf
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
