"""The second look: presses and notes of one pitch paired in order, as many as can be, each near its due time.

Where only one press and one note could belong together there is nothing to solve; the rest falls into small knots, each
solved by an order-keeping dynamic programme.
"""

from __future__ import annotations

from typing import NamedTuple

from keysense.following.pairing import Due, Limits, Pairs, Presses, Written, put_in_time

__all__ = ["KEYS", "in_order", "pair_same_pitch"]

KEYS = 176  # pitches, with two octaves on either side: a part may be moved so far
_SURELY = 0.99  # of what one pair is worth: less than that is no matter of rounding


class _Notes(NamedTuple):
    """The notes that were due, from ``begin`` on: when, how far off they may come, and the next one of the pitch."""

    begin: int
    time_s: list[float]
    within_s: list[float]
    reach_s: float  # more than any of them
    following: list[int]  # -1 after the last


def pair_same_pitch(
    p: Limits, take: Presses, touched: list[bool], written: Written, due: Due, first: int, end: int, pairs: Pairs
) -> None:
    """Pair the presses from ``first`` to ``end`` anew; one that was ``touched`` in passing is the worse choice."""
    notes, head = _notes(written, due)
    note_s, within_s, reach_s, following = notes.time_s, notes.within_s, notes.reach_s, notes.following
    earliest, came_for, asked = [-1] * (end - first), [-1] * (end - first), [0] * (end - first)
    claims = [0] * len(note_s)
    for row in range(end - first):
        press_s, pitch = take.onset_s[first + row], take.pitch[first + row]
        k = head[pitch]
        while k >= 0 and note_s[k] + reach_s <= press_s:
            k = following[k]
        head[pitch] = earliest[row] = k
        while k >= 0 and note_s[k] - reach_s < press_s:
            if abs(press_s - note_s[k]) < within_s[k]:
                came_for[row] = k
                asked[row] += 1
                claims[k] += 1
            k = following[k]
    for row, k in enumerate(came_for):
        sure = asked[row] == 1 and claims[k] == 1
        pairs.note[first + row], pairs.sure[first + row] = notes.begin + k if sure else -1, sure
    unsure = [first + row for row, k in enumerate(came_for) if k >= 0 and not pairs.sure[first + row]]
    if len(unsure):
        _pair_unsure(p, take, touched, unsure, [earliest[row - first] for row in unsure], notes, pairs)


def _notes(written: Written, due: Due) -> tuple[_Notes, list[int]]:
    """The notes that were due, and the first of each pitch."""
    begin, end = written.begin[due.low], written.begin[due.high + 1]
    onsets = written.onset_of[begin:end]
    hands = written.hand[begin:end]
    time_s = [due.time_s[at - due.base] + due.shift_s[hand] for at, hand in zip(onsets, hands)]  # noqa: B905 - numba
    within_s = [due.within_s[at - due.base] for at in onsets]
    head, following = [-1] * KEYS, [-1] * len(time_s)
    for k in range(len(time_s) - 1, -1, -1):
        pitch = written.pitch[begin + k]
        later = head[pitch]
        if later >= 0 and time_s[later] < time_s[k]:  # the other hand comes later
            put_in_time(time_s, head, following, pitch, k)
        else:
            following[k], head[pitch] = later, k
    return _Notes(begin, time_s, within_s, 1.001 * max(due.within_s), following), head


def _pair_unsure(
    p: Limits, take: Presses, touched: list[bool], presses: list[int], earliest: list[int], notes: _Notes, pairs: Pairs
) -> None:
    """Pair the presses that might belong to several notes, or whose note others might take.

    earliest: of each the first note of its pitch that it is near enough to be looked at.
    """
    rows, columns, gains = [0] * 0, [0] * 0, [0.0] * 0  # what could belong together: indices of both, pitch by pitch
    pressed, seen = _by_pitch(take.pitch, presses), [0] * 0
    column, pitch = 0, -1
    for row, which in enumerate(pressed):
        press, k = presses[which], earliest[which]
        column, pitch = column if take.pitch[press] == pitch else len(seen), take.pitch[press]
        while column < len(seen) and seen[column] != k:
            column += 1
        at = column
        while k >= 0 and notes.time_s[k] - notes.reach_s < take.onset_s[press]:
            if at == len(seen):
                seen.append(k)
            apart = abs(take.onset_s[press] - notes.time_s[k]) / notes.within_s[k]
            if apart < 1.0:
                rows.append(row)
                columns.append(at)
                gains.append(p.pair_gain - apart - (p.brushed_doubt if touched[press] else 0.0))
            k, at = notes.following[k], at + 1
    for k in _chosen(p, rows, columns, gains):
        pairs.note[presses[pressed[rows[k]]]] = notes.begin + seen[columns[k]]


def _by_pitch(pitch: list[int], presses: list[int]) -> list[int]:
    """Some presses by pitch, and in their order where it is one."""
    head, following = [-1] * KEYS, [-1] * len(presses)
    for k in range(len(presses) - 1, -1, -1):
        following[k], head[pitch[presses[k]]] = head[pitch[presses[k]]], k
    out = [0] * 0
    for press in presses:
        k = head[pitch[press]]
        head[pitch[press]] = -1
        while k >= 0:
            out.append(k)
            k = following[k]
    return out


def _chosen(p: Limits, rows: list[int], columns: list[int], gains: list[float]) -> list[int]:
    """Which of the possible pairs stand, where presses and notes hang together; every gain is above none."""
    out, cuts = [0] * 0, _knots(rows, columns)
    for knot in range(len(cuts) - 1):
        first, end = cuts[knot], cuts[knot + 1]
        across = min(columns[first:end])
        high, wide = rows[end - 1] - rows[first] + 1, max(columns[first:end]) - across + 1
        if high == 1 or wide == 1:
            best = first
            for k in range(first, end):
                if gains[k] >= gains[best]:
                    best = k
            out.append(best)
            continue
        if high == wide:  # as many as there are notes: in order, unless that is worth less than one pair fewer
            each = [k for k in range(first, end) if rows[k] - rows[first] == columns[k] - across]
            if len(each) == high and sum([p.pair_gain - gains[k] for k in each]) < _SURELY * p.pair_gain:
                out.extend(each)
                continue
        grid = [[-1.0] * wide for _ in range(high)]
        which = [[0] * wide for _ in range(high)]
        for k in range(first, end):
            grid[rows[k] - rows[first]][columns[k] - across] = gains[k]
            which[rows[k] - rows[first]][columns[k] - across] = k
        for i, j in in_order(grid):
            out.append(which[i][j])
    return out


def _knots(rows: list[int], columns: list[int]) -> list[int]:
    """Where pairs stop hanging together: both run in time, so a knot ends where no later press reaches back."""
    n = len(rows)
    reached_back, far = columns[:], columns[0]
    for k in range(n - 2, -1, -1):
        reached_back[k] = min(reached_back[k], reached_back[k + 1])
    cuts = [0]
    for k in range(1, n):
        far = max(far, columns[k - 1])
        if rows[k] != rows[k - 1] and reached_back[k] > far:
            cuts.append(k)
    cuts.append(n)
    return cuts


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
    out, i, j = [(0, 0)] * 0, 0, 0
    while i < n and j < m:
        if total[i][j] == total[i + 1][j]:
            i += 1
        elif total[i][j] == total[i][j + 1]:
            j += 1
        else:
            out.append((i, j))
            i, j = i + 1, j + 1
    return out
