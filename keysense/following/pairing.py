"""The second look: when each written note of a stretch was due.

The path tells where the player was; its heard notes give a time curve, from which every written note of the stretch
gets the time it was due. `same_pitch` then pairs presses and notes, and from its surest pairs the curve is drawn anew.

Takes are short, so all of the second look goes through presses and notes one by one: calls that take in a whole array
cost more than what they do to a hundred values. It reads lists, or, compiled (`kernel_looks`), arrays; so it holds no
constants itself, and keeps to what a compiler understands.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

__all__ = ["Due", "Limits", "Pairs", "Presses", "Sounding", "Written", "due_times", "middle", "middles", "put_in_time"]

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]

_EDGE = 6  # onsets from which the pace beyond the first and the last is read
_SLOW_S = 0.6  # a quarter, where there is no pace to read


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


class Limits(NamedTuple):
    """The constants of the second look, under their own names."""

    edge_s: float
    due_within_s: float
    due_within_ioi: float
    due_within_most_s: float
    pair_gain: float
    first_try_s: tuple[float, float]
    first_try_most_s: float
    first_try_semitones: int
    first_try_far: int
    stood_late: float
    pause_before: float
    pause_after: float
    instead_within_s: float
    instead_close_s: float
    instead_close: int
    instead_far: int
    instead_octave: int
    instead_semitones: float
    instead_reach: float
    looks: int
    curve_gap_quarters: float
    curve_steady: float
    curve_from_sure: int
    clear_of_s: float
    again_from_s: float
    hand_shift_doubt: float
    hand_shift_most_s: float
    chord_wait_s: float
    brushed_doubt: float
    brushed_within_s: float
    brushed_velocity: float
    brushed_most_s: float


class Presses(NamedTuple):
    """A take, a value a press; pitches as in `Written`."""

    onset_s: list[float]
    release_s: list[float]
    pitch: list[int]
    velocity: list[int]


class Written(NamedTuple):
    """What `Sounding` holds: a value an onset, then a value a note.

    ``begin``: the first note of each onset, and how many notes there are. Pitches count from `looks.LOWEST`.
    """

    quarter: list[float]
    begin: list[int]
    onset_of: list[int]
    pitch: list[int]
    hand: list[int]  # 1 for the left


class Pairs(NamedTuple):
    """Of each press of the take: its note, -1 for none; whether neither could belong to another."""

    note: list[int]
    sure: list[bool]


class Due(NamedTuple):
    """The onsets from ``low`` to ``high`` were due in a stretch: when, how far off they may come.

    The first value of each list is of the onset ``base``. ``shift_s``: by how much the notes of the right and of the
    left hand come after that.
    """

    base: int
    low: int
    high: int
    time_s: list[float]
    within_s: list[float]
    shift_s: tuple[float, float]


def due_times(
    p: Limits, written: Written, heard: list[int], times: list[float], first_s: float, last_s: float,
    shift_s: tuple[float, float],
) -> Due:  # fmt: skip
    """When each onset of the stretch was due, from `middles`: straight between those, beyond them at the pace near by.

    first_s, last_s: the first and the last press of the stretch.
    """
    quarter = written.quarter
    low, high, last = heard[0], heard[-1], len(quarter) - 1
    pace_s = _pace_s(quarter, heard, times, 0, min(_EDGE, len(heard)))
    early, searching = [times[0]], True  # going back, one further than was due: its gap counts
    while low > 0 and searching:
        early.append(times[0] + (quarter[low - 1] - quarter[heard[0]]) * pace_s)
        searching = early[-1] > first_s - p.edge_s
        low -= searching
    time_s = early[::-1]
    _between(quarter, heard, times, time_s)
    pace_s = _pace_s(quarter, heard, times, max(0, len(heard) - _EDGE), len(heard))
    searching = True
    while high < last and searching:
        time_s.append(times[-1] + (quarter[high + 1] - quarter[heard[-1]]) * pace_s)
        searching = time_s[-1] < last_s + p.edge_s
        high += searching
    return Due(heard[0] + 1 - len(early), low, high, time_s, _within_s(p, time_s), shift_s)


def _between(quarter: list[float], heard: list[int], times: list[float], time_s: list[float]) -> None:
    """Add the times after the first heard onset up to the last."""
    for i in range(1, len(heard)):
        a, b, from_s = heard[i - 1], heard[i], times[i - 1]
        if b - a > 1:
            pace_s = (times[i] - from_s) / (quarter[b] - quarter[a])
            time_s.extend([pace_s * (quarter[onset] - quarter[a]) + from_s for onset in range(a + 1, b)])
        time_s.append(times[i])


def _within_s(p: Limits, time_s: list[float]) -> list[float]:
    """How far off an onset may come, by the longer gap beside it."""
    least_s, share, most_s = p.due_within_s, p.due_within_ioi, p.due_within_most_s
    gaps_s = [abs(time_s[k] - time_s[k - 1]) for k in range(1, len(time_s))] if len(time_s) > 1 else [1.0]
    before, after = gaps_s[:1] + gaps_s, gaps_s + gaps_s[-1:]
    within_s = [least_s + share * (a if a > b else b) for a, b in zip(before, after)]  # noqa: B905 - numba
    return [a if a < most_s else most_s for a in within_s[: len(time_s)]]


def _pace_s(quarter: list[float], heard: list[int], times: list[float], first: int, end: int) -> float:
    """The usual time of a quarter between some heard onsets."""
    if end - first < 2:
        return _SLOW_S
    pace = [
        max(times[i] - times[i - 1], 1e-3) / (quarter[heard[i]] - quarter[heard[i - 1]]) for i in range(first + 1, end)
    ]
    return middle(pace)


def middles(
    p: Limits, written: Written, onset_s: list[float], rows: list[int], notes: list[int], shift_s: tuple[float, float]
) -> tuple[list[int], list[float]]:
    """The heard onsets and the middle time of each, made to run forward, from presses and their notes.

    After a wait inside a chord its last presses count. ``shift_s`` is taken off the times of each hand.
    """
    onset_of, hand = written.onset_of, written.hand
    onsets = [onset_of[note] for note in notes]
    times = [onset_s[row] - shift_s[hand[note]] for row, note in zip(rows, notes)]  # noqa: B905 - numba
    low = min(onsets)
    head, after = [-1] * (max(onsets) - low + 1), [-1] * len(rows)  # the presses of each onset, in the order of time
    for k in range(len(rows) - 1, -1, -1):
        at = onsets[k] - low
        if head[at] >= 0:
            put_in_time(times, head, after, at, k)
        else:
            head[at] = k
    heard, middle_s, last_s = [0] * 0, [0.0] * 0, -math.inf
    for at in range(len(head)):
        k = head[at]
        if k >= 0:
            heard.append(low + at)
            time_s = times[k] if after[k] < 0 else _middle_after_wait(times, after, k, p.chord_wait_s)
            last_s = time_s if time_s > last_s else last_s
            middle_s.append(last_s)
    return heard, middle_s


def put_in_time(times: list[float], head: list[int], after: list[int], chain: int, k: int) -> None:
    """Put ``k`` into a chain of indices before the first that is not earlier."""
    before, later = -1, head[chain]
    while later >= 0 and times[later] < times[k]:
        before, later = later, after[later]
    after[k] = later
    if before < 0:
        head[chain] = k
    else:
        after[before] = k


def _middle_after_wait(times: list[float], after: list[int], k: int, wait_s: float) -> float:
    """The middle time of the presses of one onset, ascending from ``k`` on: of those after the last long wait."""
    chord = [times[k]]
    while after[k] >= 0:
        if times[after[k]] - times[k] > wait_s:
            chord.clear()
        k = after[k]
        chord.append(times[k])
    n = len(chord)
    return (chord[(n - 1) // 2] + chord[n // 2]) / 2


def middle(values: list[float]) -> float:
    """The middle of some values, which are sorted."""
    values.sort()
    n = len(values)
    return (values[(n - 1) // 2] + values[n // 2]) / 2
