"""The second look: what the time curve is drawn through once presses and notes have been paired.

Written for lists and for a compiler, as told in `pairing`.
"""

from __future__ import annotations

import math

from keysense.following.pairing import Due, Limits, Pairs, Presses, Written, middle, middles

__all__ = ["hand_shift", "surest"]


def surest(
    p: Limits, take: Presses, written: Written, pairs: Pairs, first: int, end: int
) -> tuple[list[int], list[int]]:
    """Presses and their notes to draw the time curve through.

    The unsure pairs only where sure ones stand far apart, or where the pace between sure ones tells of a wait.
    """
    rows = [row for row in range(first, end) if pairs.note[row] >= 0]
    sure = [row for row in rows if pairs.sure[row]]
    if p.curve_from_sure <= len(sure) < len(rows):
        told = _told(p, take, written, sure, [pairs.note[row] for row in sure])
        rows = [row for row in rows if pairs.sure[row] or not told[written.onset_of[pairs.note[row]]]]
    return rows, [pairs.note[row] for row in rows]


def _told(p: Limits, take: Presses, written: Written, rows: list[int], notes: list[int]) -> list[bool]:
    """Of each onset, whether the sure pairs tell its time: it is among them, or between two at a steady pace."""
    told = [False] * len(written.quarter)
    heard, times = middles(p, written, take.onset_s, rows, notes, (0.0, 0.0))
    steps = [written.quarter[heard[i]] - written.quarter[heard[i - 1]] for i in range(1, len(heard))]
    pace_s = [(times[i + 1] - times[i]) / steps[i] for i in range(len(steps))]
    usual_s = max(middle(pace_s[:]), 1e-3) if len(pace_s) else 1.0
    slow_s, quick_s = usual_s * math.exp(p.curve_steady), usual_s * math.exp(-p.curve_steady)
    for i in range(len(steps)):
        told[heard[i]] = told[heard[i + 1]] = True
        if heard[i + 1] - heard[i] == 1:
            continue
        if steps[i] <= p.curve_gap_quarters and quick_s < max(pace_s[i], 1e-3) < slow_s:
            for onset in range(heard[i] + 1, heard[i + 1]):
                told[onset] = True
    told[heard[0]] = True
    return told


def hand_shift(
    p: Limits, take: Presses, written: Written, due: Due, pairs: Pairs, first: int, end: int
) -> tuple[float, float]:
    """By how much each hand came after the due time, drawn towards none where there is little to go by."""
    right, left = [0.0] * 0, [0.0] * 0
    for row in range(first, end):
        note = pairs.note[row]
        if note >= 0:
            hand = written.hand[note]
            late_s = take.onset_s[row] - (due.time_s[written.onset_of[note] - due.base] + due.shift_s[hand])
            (left if hand else right).append(late_s)
    return _shift_s(p, right), _shift_s(p, left)


def _shift_s(p: Limits, late_s: list[float]) -> float:
    n = len(late_s)
    if n == 0:
        return 0.0
    shift_s = middle(late_s) * n / (n + p.hand_shift_doubt)
    return min(max(shift_s, -p.hand_shift_most_s), p.hand_shift_most_s)
