"""What is left after the same-pitch pairing: brushed keys, first tries, and other notes played for a written one.

A brushed key is soft and short and goes down together with the key beside it: an extra. A first try is the same or a
neighbouring pitch shortly before the note that stands, with nothing of that hand between: it is paired with the same
note, one passing earlier; a third or a fourth away it must have come when the note was due, and the note late. Another
note is paired with a written note that nothing sounded, where it came about when that note was due, or, after a pause,
where it is the only press between two neighbours of the one note between them.

Written for lists and for a compiler, as told in `pairing`.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from keysense.following.pairing import Due, Limits, Presses, Written, middle

__all__ = ["Looked", "after_a_pause", "brushed", "first_tries", "instead", "repeated"]


def brushed(p: Limits, take: Presses) -> list[bool]:
    """The presses that look brushed in passing: soft and short, going down together with the key beside."""
    onset_s, pitch, velocity, within_s = take.onset_s, take.pitch, take.velocity, p.brushed_within_s
    out = [False] * len(onset_s)
    for row in [row for row in range(1, len(out)) if onset_s[row] - onset_s[row - 1] < within_s]:
        for before in range(row - 1, max(row - 5, -1), -1):
            if onset_s[row] - onset_s[before] >= within_s:
                break
            if 0 < abs(pitch[row] - pitch[before]) <= 2:
                soft = row if velocity[row] < velocity[before] else before
                if velocity[soft] < p.brushed_velocity * max(velocity[row], velocity[before]):
                    out[soft] = out[soft] or take.release_s[soft] - onset_s[soft] < p.brushed_most_s
    return out


class Looked(NamedTuple):
    """A stretch, from press ``first`` to ``end``, as the last look left it.

    ``note``: of each press of the take its note, -1 for none; ``sounded``: of each note from ``begin`` on whether any
    press was paired with it; ``usual_s``: how long a quarter usually lasts, once it was asked for.
    """

    take: Presses
    written: Written
    due: Due
    first: int
    end: int
    note: list[int]
    begin: int
    sounded: list[bool]
    usual_s: list[float]


def _usual_s(written: Written, due: Due) -> float:
    """How long a quarter usually lasts in a stretch of several onsets."""
    times = [_note_s(written, due, written.begin[onset]) for onset in range(due.low, due.high + 1)]
    quarter = written.quarter[due.low : due.high + 1]
    return middle([(times[i] - times[i - 1]) / (quarter[i] - quarter[i - 1]) for i in range(1, len(times))])


def _note_s(written: Written, due: Due, note: int) -> float:
    """When a note was due."""
    return due.time_s[written.onset_of[note] - due.base] + due.shift_s[written.hand[note]]


def _onset_s(at: Looked, onset: int) -> float:
    """When the first note of an onset was due; before all and after all where it is none of the stretch."""
    if onset < at.due.low:
        return -math.inf
    return _note_s(at.written, at.due, at.written.begin[onset]) if onset <= at.due.high else math.inf


def _step_s(at: Looked, onset: int) -> float:
    """How long the step to this onset from the one before usually lasts, as it is written."""
    if onset <= at.due.low:
        return math.inf
    if not len(at.usual_s):
        at.usual_s.append(_usual_s(at.written, at.due))
    return max(at.usual_s[0] * (at.written.quarter[onset] - at.written.quarter[onset - 1]), 1e-3)


def _note_of(at: Looked, row: int) -> int:
    """The note of a press; -1 for none, and of another stretch."""
    return at.note[row] if at.first <= row < at.end else -1


def _pair(at: Looked, row: int, note: int) -> None:
    at.note[row] = note
    at.sounded[note - at.begin] = True


def repeated(p: Limits, at: Looked, rows: list[int]) -> None:
    """Pair with the same note a press that sounds it once more soon after, before the next onset was due."""
    onset_s, pitch = at.take.onset_s, at.take.pitch
    for row in rows:
        for before in range(row - 1, max(row - 10, -1), -1):
            gap_s = onset_s[row] - onset_s[before]
            if gap_s > p.first_try_most_s:
                break
            if pitch[before] == pitch[row]:
                note = _note_of(at, before)
                far = note >= 0 and gap_s >= p.again_from_s
                if far and _onset_s(at, at.written.onset_of[note] + 1) > onset_s[row] + p.clear_of_s:
                    at.note[row] = note if _silence(onset_s, before, row) else -1
                break


def first_tries(p: Limits, at: Looked, rows: list[int]) -> None:
    """Pair with the note that was got right soon after a press that was taken back, after the onset before was due."""
    onset_s, pitch = at.take.onset_s, at.take.pitch
    for row in rows[::-1]:
        for later in range(row + 1, min(row + 8, len(onset_s))):
            gap_s = onset_s[later] - onset_s[row]
            if gap_s > p.first_try_most_s:
                break
            note, apart = _note_of(at, later), abs(pitch[later] - pitch[row])
            if note < 0 or apart > p.first_try_far or gap_s < p.first_try_s[0]:
                continue
            near = apart <= p.first_try_semitones or (later == row + 1 and _straight_on(p, at, row))
            before_s = _onset_s(at, at.written.onset_of[note] - 1)
            after_s = _onset_s(at, at.written.onset_of[note] + 1)
            patience_s = max(p.first_try_s[1], min(after_s - before_s, p.first_try_most_s))
            if near and gap_s <= patience_s and _silence(onset_s, row, later):
                if before_s < onset_s[row] - p.clear_of_s:
                    at.note[row] = note
                break


def _straight_on(p: Limits, at: Looked, row: int) -> bool:
    """Did the press come alone, when the next note was due, and that note late, so that it can be for nothing else?"""
    before, onset = _note_of(at, row - 1), at.written.onset_of[at.note[row + 1]]
    if before < 0 or onset - at.written.onset_of[before] != 1:
        return False
    onset_s, step_s = at.take.onset_s, _step_s(at, onset)
    tried, stood = (onset_s[row] - onset_s[row - 1]) / step_s, (onset_s[row + 1] - onset_s[row - 1]) / step_s
    return tried > 1 / p.pause_after and stood > p.stood_late


def _silence(onset_s: list[float], row: int, later: int) -> bool:
    """Is there a gap between the two that takes most of the time between them?"""
    most_s = 0.55 * (onset_s[later] - onset_s[row])
    return max([onset_s[k + 1] - onset_s[k] for k in range(row, later)]) > most_s


def after_a_pause(p: Limits, at: Looked, rows: list[int]) -> None:
    """Pair a lone press after a pause with the one note that nothing sounded between the notes before and after it.

    The time curve lays such a note half-way through the pause, where no press is near it.
    """
    onset_s, onset_of, begin = at.take.onset_s, at.written.onset_of, at.written.begin
    for row in rows:
        before, after = _note_of(at, row - 1), _note_of(at, row + 1)
        if before < 0 or after < 0 or onset_of[after] - onset_of[before] != 2:
            continue
        onset = onset_of[before] + 1
        note = begin[onset]
        if begin[onset + 1] - note != 1 or abs(at.written.pitch[note] - at.take.pitch[row]) > p.instead_far:
            continue
        waited = (onset_s[row] - onset_s[row - 1]) / _step_s(at, onset)
        went_on = (onset_s[row + 1] - onset_s[row]) / _step_s(at, onset + 1)
        if waited > p.pause_before and 1 / p.pause_after < went_on < p.pause_after:
            _pair(at, row, note)


def instead(p: Limits, at: Looked, rows: list[int], within_s: float, semitones: int) -> None:
    """Pair with other pitches the notes that nothing sounded, the closest first, of those alike the earlier press."""
    presses, notes, costs = [0] * 0, [0] * 0, [0.0] * 0
    due, sounded, begin = at.due, at.sounded, at.written.begin
    for row in rows:
        press_s, pitch = at.take.onset_s[row], at.take.pitch[row]
        onset = _first_from(due, press_s - 4 * within_s - max(due.shift_s))
        last_s = press_s + 4 * within_s - min(due.shift_s)
        while onset <= due.high and due.time_s[onset - due.base] <= last_s:
            for note in range(begin[onset], begin[onset + 1]):
                if sounded[note - at.begin]:
                    continue
                apart, apart_s = abs(pitch - at.written.pitch[note]), abs(press_s - _note_s(at.written, due, note))
                apart = p.instead_octave if apart == 12 else apart
                reach_s = min(max(within_s, p.instead_reach * due.within_s[onset - due.base]), 4 * within_s)
                if apart <= semitones and apart_s <= reach_s:
                    presses.append(row)
                    notes.append(note)
                    costs.append(apart_s / p.instead_within_s + apart / p.instead_semitones)
            onset += 1
    if not len(costs):
        return
    for k in np.argsort(np.array(costs), kind="mergesort"):
        if at.note[presses[k]] < 0 and not sounded[notes[k] - at.begin]:
            _pair(at, presses[k], notes[k])


def _first_from(due: Due, time_s: float) -> int:
    """The first onset of a stretch that was not due before a time."""
    low, high = due.low, due.high + 1
    while low < high:
        onset = (low + high) // 2
        if due.time_s[onset - due.base] < time_s:
            low = onset + 1
        else:
            high = onset
    return low
