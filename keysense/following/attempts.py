"""What is left after the same-pitch pairing: brushed keys, first tries, and other notes played for a written one.

A brushed key is soft and short and goes down together with the key beside it: an extra. A first try is the same or a
neighbouring pitch shortly before the note that stands, with nothing of that hand between: it is paired with the same
note, one passing earlier; a third or a fourth away it must have come when the note was due, and the note late. Another
note is paired with a written note that nothing sounded, where it came about when that note was due, or, after a pause,
where it is the only press between two neighbours of the one note between them.
"""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.pairing import Due, Sounding, median
from keysense.notes import Take

__all__ = ["Neighbours", "Pressed", "after_a_pause", "brushed", "first_tries", "instead", "repeated"]

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


class Pressed(NamedTuple):
    """When each key of a take was pressed, and which it was."""

    onset_s: list[float]
    pitch: list[int]


class Neighbours:
    """For each due note: the number of its onset, and when the onset before it and the one after it were due."""

    def __init__(self, due: Due, sounding: Sounding) -> None:
        onset_of = sounding.onset_of[due.note]  # ascending
        new = np.append(True, onset_of[1:] != onset_of[:-1])
        self.onset = np.cumsum(new) - 1
        time_s = due.time_s[new]
        times = np.concatenate([[-np.inf], time_s, [np.inf]])
        self.before_s, self.after_s = times[self.onset], times[self.onset + 2]
        quarters = np.diff(sounding.onset_quarter[onset_of[new]])
        usual_s = median(np.diff(time_s) / quarters) if len(quarters) else np.inf
        self._step_s = np.maximum(usual_s * quarters, 1e-3)

    def step_s(self, onset: int) -> float:
        """How long the step to this onset from the one before usually lasts, as it is written."""
        return float(self._step_s[onset - 1]) if onset > 0 else float("inf")

    def patience_s(self, note: int) -> float:
        """How long before the note a first try of it may come."""
        return max(c.FIRST_TRY_S[1], min(float(self.after_s[note] - self.before_s[note]), c.FIRST_TRY_MOST_S))


def repeated(take: Pressed, rows: list[int], pair_of: dict[int, int], neighbours: Neighbours) -> None:
    """Pair with the same note a press that sounds it once more soon after, before the next onset was due."""
    onset, pitch = take
    for row in rows:
        for before in range(row - 1, max(row - 10, -1), -1):
            gap = onset[row] - onset[before]
            if gap > c.FIRST_TRY_MOST_S:
                break
            if pitch[before] == pitch[row]:
                note = pair_of.get(before)
                clear = note is not None and neighbours.after_s[note] > onset[row] + c.CLEAR_OF_S
                if note is not None and clear and gap >= c.AGAIN_FROM_S and _silence(onset, before, row):
                    pair_of[row] = note
                break


def first_tries(take: Pressed, rows: list[int], pair_of: dict[int, int], neighbours: Neighbours) -> None:
    """Pair with the note that was got right soon after a press that was taken back, after the onset before was due."""
    onset, pitch = take
    for row in rows[::-1]:
        for later in range(row + 1, min(row + 8, len(onset))):
            gap = onset[later] - onset[row]
            if gap > c.FIRST_TRY_MOST_S:
                break
            apart = abs(pitch[later] - pitch[row])
            if later not in pair_of or apart > c.FIRST_TRY_FAR or gap < c.FIRST_TRY_S[0]:
                continue
            note = pair_of[later]
            alone = later == row + 1 and _straight_on(row, onset, pair_of, neighbours)
            near = apart <= c.FIRST_TRY_SEMITONES or alone
            if near and gap <= neighbours.patience_s(note) and _silence(onset, row, later):
                if neighbours.before_s[note] < onset[row] - c.CLEAR_OF_S:
                    pair_of[row] = note
                break


def _straight_on(row: int, onset: list[float], pair_of: dict[int, int], neighbours: Neighbours) -> bool:
    """Did the press come alone, when the next note was due, and that note late, so that it can be for nothing else?"""
    before, at = pair_of.get(row - 1), neighbours.onset[pair_of[row + 1]]
    if before is None or at - neighbours.onset[before] != 1:
        return False
    step_s = neighbours.step_s(at)
    tried, stood = ((onset[k] - onset[row - 1]) / step_s for k in (row, row + 1))
    return tried > 1 / c.PAUSE_AFTER and stood > c.STOOD_LATE


def _silence(onset: list[float], row: int, later: int) -> bool:
    """Is there a gap between the two that takes most of the time between them?"""
    longest = max(after - before for before, after in pairwise(onset[row : later + 1]))
    return longest > 0.55 * (onset[later] - onset[row])


def after_a_pause(
    take: Pressed, rows: list[int], pair_of: dict[int, int], due: Due, sounding: Sounding, neighbours: Neighbours
) -> None:
    """Pair a lone press after a pause with the one note that nothing sounded between the notes before and after it.

    The time curve lays such a note half-way through the pause, where no press is near it.
    """
    onset, pitch = take
    for row in rows:
        before, after = pair_of.get(row - 1), pair_of.get(row + 1)
        if before is None or after is None or neighbours.onset[after] - neighbours.onset[before] != 2:
            continue
        at = int(neighbours.onset[before]) + 1
        (notes,) = np.nonzero(neighbours.onset == at)
        if len(notes) != 1 or abs(int(sounding.pitch[due.note[notes[0]]]) - pitch[row]) > c.INSTEAD_FAR:
            continue
        waited = (onset[row] - onset[row - 1]) / neighbours.step_s(at)
        went_on = (onset[row + 1] - onset[row]) / neighbours.step_s(at + 1)
        if waited > c.PAUSE_BEFORE and 1 / c.PAUSE_AFTER < went_on < c.PAUSE_AFTER:
            pair_of[row] = int(notes[0])


def instead(
    take: Pressed, rows: list[int], free: Ints, due: Due, sounding: Sounding, *, within_s: float, semitones: int
) -> list[tuple[int, int]]:
    """Pairs (row, index into due) of other pitches played for notes that nothing sounded, the closest first."""
    if not len(rows) or not len(free):
        return []
    onset_s, pitch = (np.array([column[row] for row in rows]) for column in take)
    apart_s = np.abs(onset_s[:, None] - due.time_s[free][None, :])
    apart = np.abs(pitch[:, None] - sounding.pitch[due.note[free]][None, :])
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
            out.append((rows[i], int(free[j])))
    return out
