"""The second look: inside one stretch, pair each key press with the note of its pitch that was due then.

The path tells where the player was; its heard notes give a time curve, from which every written note of the stretch
gets the time it was due. Then, pitch by pitch, presses and notes are paired in order so that as many as can be are
paired, each near its due time. Where only one press and one note could belong together there is nothing to solve; the
rest is a small order-keeping dynamic programme.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.decode import LATE
from keysense.following.lane import EXACT
from keysense.following.passes import Stretch

__all__ = [
    "Due",
    "Found",
    "Sounding",
    "due_times",
    "hand_shift",
    "heard_by_path",
    "in_order",
    "pair_same_pitch",
    "surest",
]

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Sounding:
    """The target as one reading has it: rows, their onset, pitch as it sounds, hand."""

    row: Ints
    onset_of: Ints
    onset_quarter: Floats
    pitch: Ints
    left: npt.NDArray[np.bool_]
    at_row: Ints  # row of the target -> index here, -1 where silent


@dataclass(frozen=True)
class Due:
    """The notes that were due in a stretch: indices into `Sounding`, when, and how far off they may come."""

    note: Ints
    time_s: Floats
    within_s: Floats


class Found(NamedTuple):
    """A pair: row of the take, index into `Due`; sure where neither could belong to another."""

    press: int
    due: int
    sure: bool


def surest(found: list[Found], due: Due, sounding: Sounding, onset_s: Floats) -> tuple[Ints, Ints]:
    """Notes and presses to draw the time curve through.

    The unsure pairs only where sure ones stand far apart, or where the pace between sure ones tells of a wait.
    """
    press, index, sure = (np.asarray(column) for column in zip(*found, strict=True))
    note = due.note[index]
    at = sounding.onset_of[note]
    if sure.sum() < c.CURVE_FROM_SURE:
        return note, press
    fixed, times = _middles(at[sure], onset_s[press[sure]])
    quarter = sounding.onset_quarter[fixed]
    steps = np.diff(quarter)
    pace = np.diff(times) / steps
    usual = max(float(np.median(pace)), 1e-3) if len(pace) else 1.0
    steady = (steps <= c.CURVE_GAP_QUARTERS) & (np.abs(np.log(np.maximum(pace, 1e-3) / usual)) < c.CURVE_STEADY)
    steady = np.concatenate([[False], steady, [False]])
    use = sure | (~steady[np.searchsorted(fixed, at)] & ~np.isin(at, fixed))
    return note[use], press[use]


def due_times(
    stretch: Stretch, sounding: Sounding, onset_s: Floats, note: Ints, played: Ints, shift_s: Floats | None = None
) -> Due:
    """When each note of the stretch was due, from pairs of notes (indices into ``sounding``) and presses.

    shift_s: by how much the notes of the right and of the left hand came after the common time.
    """
    at = sounding.onset_of[note]
    times = onset_s[played]
    if shift_s is not None:
        times = times - shift_s[sounding.left[note].astype(int)]
    heard, times = _middles(at, times)
    curve = _Curve(sounding.onset_quarter[heard], times)
    first_s, last_s = onset_s[stretch.first_played], onset_s[stretch.end_played - 1]
    low, high = heard[0], heard[-1]
    onset_due = curve.at(sounding.onset_quarter)
    while low > 0 and onset_due[low - 1] > first_s - c.EDGE_S:
        low -= 1
    while high < len(onset_due) - 1 and onset_due[high + 1] < last_s + c.EDGE_S:
        high += 1
    gaps = np.abs(np.diff(onset_due))
    around = np.maximum(np.append(gaps[:1], gaps), np.append(gaps, gaps[-1:])) if len(gaps) else np.ones(1)
    within = np.minimum(c.DUE_WITHIN_S + c.DUE_WITHIN_IOI * around, c.DUE_WITHIN_MOST_S)
    due = np.flatnonzero((sounding.onset_of >= low) & (sounding.onset_of <= high))
    time = onset_due[sounding.onset_of[due]]
    if shift_s is not None:
        time = time + shift_s[sounding.left[due].astype(int)]
    return Due(due, time, within[sounding.onset_of[due]])


def heard_by_path(stretch: Stretch, sounding: Sounding) -> tuple[Ints, Ints]:
    """Notes (indices into ``sounding``) and presses that the path is sure of."""
    steps = stretch.steps
    sure = steps[(steps["kind"] == EXACT) | (steps["kind"] >= LATE)]
    steps = sure if len(sure) else steps
    return sounding.at_row[steps["note"]], steps["played"].astype(np.int64)


def hand_shift(due: Due, sounding: Sounding, found: list[Found], onset_s: Floats) -> Floats:
    """By how much each hand came after the due time, drawn towards none where there is little to go by."""
    shift = np.zeros(2)
    press, index, _ = (np.asarray(column) for column in zip(*found, strict=True))
    late = onset_s[press] - due.time_s[index]
    left = sounding.left[due.note[index]]
    for hand in (0, 1):
        mine = late[left == hand]
        if len(mine):
            shift[hand] = np.median(mine) * len(mine) / (len(mine) + c.HAND_SHIFT_DOUBT)
    return np.asarray(np.clip(shift, -c.HAND_SHIFT_MOST_S, c.HAND_SHIFT_MOST_S))


def _middles(at: Ints, times: Floats) -> tuple[Ints, Floats]:
    """The middle time of each onset, made to run forward; after a wait inside a chord the last presses count."""
    order = np.lexsort((times, at))
    at, times = at[order], times[order]
    wait = np.append(False, (at[1:] == at[:-1]) & (np.diff(times) > c.CHORD_WAIT_S))
    group = np.cumsum(wait)
    last = np.append(at[1:] != at[:-1], True)
    keep = group == group[np.flatnonzero(last)[np.cumsum(np.append(0, last[:-1]))]]
    at, times = at[keep], times[keep]
    heard, begin, count = np.unique(at, return_index=True, return_counts=True)
    middle = (times[begin + (count - 1) // 2] + times[begin + count // 2]) / 2
    return heard, np.maximum.accumulate(middle)


class _Curve:
    """Quarters to seconds: straight between the heard onsets, beyond them at the pace near the edge."""

    def __init__(self, quarter: Floats, time_s: Floats) -> None:
        self.quarter, self.time = quarter, time_s
        self.before = _pace(quarter[:6], time_s[:6])
        self.after = _pace(quarter[-6:], time_s[-6:])

    def at(self, quarter: Floats) -> Floats:
        time = np.interp(quarter, self.quarter, self.time)
        early, late = quarter < self.quarter[0], quarter > self.quarter[-1]
        time[early] = self.time[0] + (quarter[early] - self.quarter[0]) * self.before
        time[late] = self.time[-1] + (quarter[late] - self.quarter[-1]) * self.after
        return time


def _pace(quarter: Floats, time_s: Floats) -> float:
    if len(quarter) < 2 or quarter[-1] <= quarter[0]:
        return 0.6
    return float(np.median(np.maximum(np.diff(time_s), 1e-3) / np.diff(quarter)))


def pair_same_pitch(
    due: Due, sounding: Sounding, played: Ints, onset_s: Floats, pitch: Ints, doubt: Floats
) -> list[Found]:
    """Pairs, each pitch in order; ``doubt`` makes a press the worse choice."""
    out: list[Found] = []
    due_pitch = sounding.pitch[due.note]
    order_n = np.lexsort((due.time_s, due_pitch))
    order_p = played[np.argsort(pitch[played], kind="stable")]
    heard, due_pitch = np.unique(pitch[played]), due_pitch[order_n]
    ends_n = np.searchsorted(due_pitch, [heard, heard + 1]).T.tolist()
    ends_p = np.searchsorted(pitch[order_p], [heard, heard + 1]).T.tolist()
    for (first_n, end_n), (first_p, end_p) in zip(ends_n, ends_p, strict=True):
        if end_n > first_n:
            notes, presses = order_n[first_n:end_n], order_p[first_p:end_p]
            apart = np.abs(onset_s[presses][:, None] - due.time_s[notes]) / due.within_s[notes]
            out += _pair_one_pitch(presses.tolist(), notes.tolist(), apart, doubt[presses])
    return out


def _pair_one_pitch(presses: list[int], notes: list[int], apart: Floats, doubt: Floats) -> list[Found]:
    """``apart``: how far each press is from each note, in tolerances."""
    if len(presses) == len(notes) == 1:
        return [Found(presses[0], notes[0], True)] if apart[0, 0] < 1.0 else []
    could = apart < 1.0
    alone = could & (could.sum(1) == 1)[:, None] & (could.sum(0) == 1)
    i, j = (index.tolist() for index in np.nonzero(alone))
    out = [Found(presses[a], notes[b], True) for a, b in zip(i, j, strict=True)]
    rest = could & ~alone
    if rest.any():
        gain = np.where(rest, c.PAIR_GAIN - apart - doubt[:, None], -1.0)
        for rows, columns in _knots(rest):
            out += [Found(presses[rows[a]], notes[columns[b]], False) for a, b in in_order(gain[np.ix_(rows, columns)])]
    return out


def _knots(rest: npt.NDArray[np.bool_]) -> list[tuple[Ints, Ints]]:
    """Rows and columns that hang together: both run in time, so a knot ends where no later row reaches back."""
    rows = np.flatnonzero(rest.any(1))
    first = rest[rows].argmax(1)
    last = rest.shape[1] - 1 - rest[rows, ::-1].argmax(1)
    reached_back = np.minimum.accumulate(first[::-1])[::-1]
    cuts = np.flatnonzero(reached_back[1:] > np.maximum.accumulate(last)[:-1]) + 1
    return [(part, np.flatnonzero(rest[part].any(0))) for part in np.split(rows, cuts)]


def in_order(gain: Floats) -> list[tuple[int, int]]:
    """The order-keeping pairing of greatest gain; only positive gains are taken."""
    n, m = gain.shape
    rows = gain.tolist()
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
