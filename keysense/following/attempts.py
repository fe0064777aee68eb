"""What is left after the same-pitch pairing: brushed keys, first tries, and other notes played for a written one.

A brushed key is soft and short and goes down together with the key beside it: an extra. A first try is the same or a
neighbouring pitch shortly before the note that stands, with nothing of that hand between: it is paired with the same
note, one passing earlier. Another note is paired with a written note that nothing sounded, where it came about when
that note was due.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.pairing import Due, Sounding
from keysense.notes import Take

__all__ = ["Neighbours", "brushed", "first_tries", "instead", "repeated"]

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]


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
    touched: npt.NDArray[np.bool_] = out & short
    return touched


class Neighbours:
    """For each due note: when the onset before it and the one after it were due."""

    def __init__(self, onset_of: Ints, time_s: Floats) -> None:
        onsets, first = np.unique(onset_of, return_index=True)
        at = np.searchsorted(onsets, onset_of)
        times = np.concatenate([[-np.inf], time_s[first], [np.inf]])
        self.before_s, self.after_s = times[at], times[at + 2]


def repeated(take: Take, rows: Ints, pair_of: dict[int, int], neighbours: Neighbours) -> None:
    """Pair with the same note a press that sounds it once more soon after, before the next onset was due."""
    onset, pitch = take.notes["onset_s"].tolist(), take.notes["pitch"].tolist()
    for row in rows.tolist():
        for before in range(row - 1, max(row - 10, -1), -1):
            gap = onset[row] - onset[before]
            if gap > c.FIRST_TRY_S[1]:
                break
            if pitch[before] == pitch[row]:
                note = pair_of.get(before)
                clear = note is not None and neighbours.after_s[note] > onset[row] + c.CLEAR_OF_S
                if note is not None and clear and gap >= c.AGAIN_FROM_S and _silence(onset, before, row):
                    pair_of[row] = note
                break


def first_tries(take: Take, rows: Ints, pair_of: dict[int, int], neighbours: Neighbours) -> None:
    """Pair with the note that was got right soon after a press that was taken back, after the onset before was due."""
    onset, pitch = take.notes["onset_s"].tolist(), take.notes["pitch"].tolist()
    for row in rows.tolist()[::-1]:
        for later in range(row + 1, min(row + 8, len(onset))):
            gap = onset[later] - onset[row]
            if gap > c.FIRST_TRY_S[1]:
                break
            near = abs(pitch[later] - pitch[row]) <= c.FIRST_TRY_SEMITONES
            if later in pair_of and near and gap >= c.FIRST_TRY_S[0] and _silence(onset, row, later):
                if neighbours.before_s[pair_of[later]] < onset[row] - c.CLEAR_OF_S:
                    pair_of[row] = pair_of[later]
                break


def _silence(onset: list[float], row: int, later: int) -> bool:
    """Is there a gap between the two that takes most of the time between them?"""
    longest = max(after - before for before, after in pairwise(onset[row : later + 1]))
    return longest > 0.55 * (onset[later] - onset[row])


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
