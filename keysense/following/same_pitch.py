"""The second look: presses and notes of one pitch paired in order, as many as can be, each near its due time.

Where only one press and one note could belong together there is nothing to solve; the rest falls into small knots, each
solved by an order-keeping dynamic programme.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.pairing import Due, Found, Sounding
from keysense.following.passes import Stretch

__all__ = ["in_order", "pair_same_pitch"]

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
_APART = 1000  # more than all pitches: keys of one stretch and the next


def pair_same_pitch(
    dues: list[Due], parts: list[Stretch], sounding: Sounding, onset_s: Floats, pitch: Ints, doubt: Floats
) -> list[Found]:
    """Pairs of each stretch, each pitch in order; ``doubt`` makes a press the worse choice."""
    note, time_s, within_s = _joined(dues)
    begin = np.cumsum([0, *(len(due.note) for due in dues)])
    key = pitch + _APART * np.repeat(np.arange(len(parts)), [part.end_played - part.first_played for part in parts])
    due_key = sounding.pitch[note] + _APART * np.repeat(np.arange(len(parts)), np.diff(begin))
    notes = np.lexsort((time_s, due_key))
    presses = np.argsort(key, kind="stable")
    press_s, note_s = onset_s[presses], time_s[notes]
    row, column = _within(key[presses], press_s, due_key[notes], note_s, 1.001 * within_s.max())
    apart = np.abs(press_s[row] - note_s[column]) / within_s[notes[column]]
    could = apart < 1.0
    row, column, apart = row[could], column[could], apart[could]
    alone = (np.bincount(row)[row] == 1) & (np.bincount(column)[column] == 1)
    (rest,) = np.nonzero(~alone)
    gain = c.PAIR_GAIN - apart[rest] - doubt[presses[row[rest]]]
    chosen = rest[_chosen(row[rest], column[rest], gain)]
    pairs = np.concatenate([np.flatnonzero(alone), chosen])
    press, due, sure = presses[row[pairs]], notes[column[pairs]], alone[pairs]
    if len(parts) == 1:
        return [Found(press, due, sure)]
    out = []
    for k, part in enumerate(parts):
        (own,) = np.nonzero((press >= part.first_played) & (press < part.end_played))
        out.append(Found(press[own], due[own] - begin[k], sure[own]))
    return out


def _joined(dues: list[Due]) -> tuple[Ints, Floats, Floats]:
    if len(dues) == 1:
        return dues[0].note, dues[0].time_s, dues[0].within_s
    note, time_s, within_s = zip(*((due.note, due.time_s, due.within_s) for due in dues), strict=True)
    return np.concatenate(note), np.concatenate(time_s), np.concatenate(within_s)


def _within(press_pitch: Ints, press_s: Floats, note_pitch: Ints, note_s: Floats, within_s: float) -> tuple[Ints, Ints]:
    """Every press with every note of its pitch due so near: indices of both. Both come by pitch, then by time."""
    n, asked = len(note_s), len(press_s)
    time_s = np.concatenate([press_s - within_s, note_s, press_s + within_s])
    kind = np.repeat([0, 1, 2], [asked, n, asked])
    order = np.lexsort((kind, time_s, np.concatenate([press_pitch, note_pitch, press_pitch])))
    before = np.empty(len(order), np.int64)
    before[order] = np.cumsum(kind[order] == 1)  # how many notes come before each, in pitch and in time
    first, count = before[:asked], before[asked + n :] - before[:asked]
    row = np.repeat(np.arange(asked), count)
    return row, np.arange(len(row)) + np.repeat(first - np.cumsum(count) + count, count)


def _chosen(row: Ints, column: Ints, gain: Floats) -> Ints:
    """Which of the possible pairs stand, where presses and notes hang together; every gain is above none."""
    out: list[int] = []
    rows, columns, gains = row.tolist(), column.tolist(), gain.tolist()
    for first, end in pairwise(_knots(row, column)):
        if rows[first] == rows[end - 1] or end - first == 1 or min(columns[first:end]) == max(columns[first:end]):
            out.append(max(range(first, end), key=lambda at: (gains[at], at)))
        else:
            out += _of_knot(rows[first:end], columns[first:end], gains[first:end], first)
    return np.asarray(out, np.int64)


def _of_knot(rows: list[int], columns: list[int], gains: list[float], first: int) -> list[int]:
    down, across = rows[0], min(columns)
    wide = max(columns) - across + 1
    grid = [[-1.0] * wide for _ in range(rows[-1] - down + 1)]
    which = {}
    for at, (r, k, worth) in enumerate(zip(rows, columns, gains, strict=True), first):
        grid[r - down][k - across] = worth
        which[r - down, k - across] = at
    return [which[pair] for pair in in_order(grid)]


def _knots(row: Ints, column: Ints) -> list[int]:
    """Where pairs stop hanging together: both run in time, so a knot ends where no later press reaches back."""
    if not len(row):
        return []
    begin = np.flatnonzero(np.append(True, row[1:] != row[:-1]))
    first, last = column[begin], column[np.append(begin[1:], len(row)) - 1]
    reached_back = np.minimum.accumulate(first[::-1])[::-1]
    cuts = begin[1:][reached_back[1:] > np.maximum.accumulate(last)[:-1]]
    return [0, *cuts.tolist(), len(row)]


def in_order(rows: list[list[float]]) -> list[tuple[int, int]]:
    """The order-keeping pairing of greatest gain (a row a press, a column a note); only positive gains are taken."""
    n, m = len(rows), len(rows[0])
    total = [[0.0] * (m + 1) for _ in range(n + 1)]
    for i in range(n - 1, -1, -1):
        here, below, g = total[i], total[i + 1], rows[i]
        for j in range(m - 1, -1, -1):
            best = below[j] if below[j] > here[j + 1] else here[j + 1]
            if g[j] > 0.0 and g[j] + below[j + 1] > best:
                best = g[j] + below[j + 1]
            here[j] = best
    out, i, j = [], 0, 0
    while i < n and j < m:
        if total[i][j] == total[i + 1][j]:
            i += 1
        elif total[i][j] == total[i][j + 1]:
            j += 1
        else:
            out.append((i, j))
            i, j = i + 1, j + 1
    return out
