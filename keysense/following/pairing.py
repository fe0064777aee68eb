"""The second look: when each written note of a stretch was due.

The path tells where the player was; its heard notes give a time curve, from which every written note of the stretch
gets the time it was due. `same_pitch` then pairs presses and notes, and from its surest pairs the curve is drawn anew.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.decode import LATE
from keysense.following.lane import EXACT
from keysense.following.passes import Stretch
from keysense.following.values import median

__all__ = [
    "Due",
    "Found",
    "Sounding",
    "due_times",
    "hand_shift",
    "heard_by_path",
    "median",
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

    @cached_property
    def written(self) -> frozenset[tuple[float, int]]:
        """Each note's quarter, to four places, and pitch."""
        quarter = self.onset_quarter.round(4)[self.onset_of]
        return frozenset(zip(quarter.tolist(), self.pitch.tolist(), strict=True))


@dataclass(frozen=True)
class Due:
    """The notes that were due in a stretch: indices into `Sounding`, when, and how far off they may come."""

    note: Ints
    time_s: Floats
    within_s: Floats


class Found(NamedTuple):
    """Pairs: rows of the take, indices into `Due`; sure where neither could belong to another."""

    press: Ints
    due: Ints
    sure: npt.NDArray[np.bool_]


def surest(found: Found, due: Due, sounding: Sounding, onset_s: Floats) -> tuple[Ints, Ints]:
    """Notes and presses to draw the time curve through.

    The unsure pairs only where sure ones stand far apart, or where the pace between sure ones tells of a wait.
    """
    press, index, sure = found
    note = due.note[index]
    at = sounding.onset_of[note]
    if sure.sum() < c.CURVE_FROM_SURE:
        return note, press
    fixed, times = _middles(at[sure], onset_s[press[sure]])
    quarter = sounding.onset_quarter[fixed]
    steps = np.diff(quarter)
    pace = np.diff(times) / steps
    usual = max(median(pace), 1e-3) if len(pace) else 1.0
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
        times = times - shift_s.take(sounding.left[note])
    heard, times = _middles(at, times)
    curve = _Curve(sounding.onset_quarter[heard], times)
    first_s, last_s = onset_s[stretch.first_played], onset_s[stretch.end_played - 1]
    low, high = heard[0], heard[-1]
    onset_due = curve.at(sounding.onset_quarter)
    while low > 0 and onset_due[low - 1] > first_s - c.EDGE_S:
        low -= 1
    while high < len(onset_due) - 1 and onset_due[high + 1] < last_s + c.EDGE_S:
        high += 1
    around = np.ones(len(onset_due))
    if len(around) > 1:
        gaps = np.abs(onset_due[1:] - onset_due[:-1])
        around[0], around[1:] = gaps[0], gaps
        np.maximum(around[:-1], gaps, out=around[:-1])
    within = np.minimum(c.DUE_WITHIN_S + c.DUE_WITHIN_IOI * around, c.DUE_WITHIN_MOST_S)
    first, end = np.searchsorted(sounding.onset_of, [low, high + 1])
    onset_of = sounding.onset_of[first:end]
    time = onset_due[onset_of]
    if shift_s is not None:
        time = time + shift_s.take(sounding.left[first:end])
    return Due(np.arange(first, end), time, within[onset_of])


def heard_by_path(stretch: Stretch, sounding: Sounding) -> tuple[Ints, Ints]:
    """Notes (indices into ``sounding``) and presses that the path is sure of."""
    steps = stretch.steps
    sure = steps[(steps["kind"] == EXACT) | (steps["kind"] >= LATE)]
    steps = sure if len(sure) else steps
    return sounding.at_row[steps["note"]], steps["played"].astype(np.int64)


def hand_shift(due: Due, sounding: Sounding, found: Found, onset_s: Floats) -> Floats:
    """By how much each hand came after the due time, drawn towards none where there is little to go by."""
    shift = np.zeros(2)
    late = onset_s[found.press] - due.time_s[found.due]
    left = sounding.left[due.note[found.due]]
    for hand in (0, 1):
        mine = late[left == hand]
        if len(mine):
            shift[hand] = median(mine) * len(mine) / (len(mine) + c.HAND_SHIFT_DOUBT)
    return np.asarray(np.clip(shift, -c.HAND_SHIFT_MOST_S, c.HAND_SHIFT_MOST_S))


def _middles(at: Ints, times: Floats) -> tuple[Ints, Floats]:
    """The middle time of each onset, made to run forward; after a wait inside a chord the last presses count."""
    order = np.lexsort((times, at))
    at, times = at[order], times[order]
    new = at[1:] != at[:-1]
    wait = ~new & (times[1:] - times[:-1] > c.CHORD_WAIT_S)
    if wait.any():
        group = np.append(0, np.cumsum(wait))
        last = np.append(new, True)
        keep = group == group[np.flatnonzero(last)[np.cumsum(np.append(0, new))]]
        at, times = at[keep], times[keep]
        new = at[1:] != at[:-1]
    ends = np.append(np.flatnonzero(new), len(at) - 1)
    begin = np.append(0, ends[:-1] + 1)
    count = ends - begin + 1
    middle = (times[begin + (count - 1) // 2] + times[begin + count // 2]) / 2
    return at[begin], np.maximum.accumulate(middle)


class _Curve:
    """Quarters to seconds: straight between the heard onsets, beyond them at the pace near the edge."""

    def __init__(self, quarter: Floats, time_s: Floats) -> None:
        self.quarter, self.time = quarter, time_s
        self.before = _pace(quarter[:6], time_s[:6])
        self.after = _pace(quarter[-6:], time_s[-6:])

    def at(self, quarter: Floats) -> Floats:
        """The times of quarters that ascend."""
        time = np.interp(quarter, self.quarter, self.time)
        early, late = np.searchsorted(quarter, self.quarter[0]), np.searchsorted(quarter, self.quarter[-1], "right")
        time[:early] = self.time[0] + (quarter[:early] - self.quarter[0]) * self.before
        time[late:] = self.time[-1] + (quarter[late:] - self.quarter[-1]) * self.after
        return time


def _pace(quarter: Floats, time_s: Floats) -> float:
    if len(quarter) < 2 or quarter[-1] <= quarter[0]:
        return 0.6
    steps = zip(pairwise(time_s.tolist()), pairwise(quarter.tolist()), strict=True)
    pace: list[float] = sorted(max(t - s, 1e-3) / (b - a) for (s, t), (a, b) in steps)
    return (pace[(len(pace) - 1) // 2] + pace[len(pace) // 2]) / 2
