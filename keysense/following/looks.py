"""The second look at all stretches: twice, then what is left over in each.

`look_twice` and what it calls are compiled as they stand (`kernel_looks`): see `pairing`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following import fast
from keysense.following.attempts import Looked, after_a_pause, brushed, first_tries, instead, repeated
from keysense.following.decode import LATE
from keysense.following.following import MATCH, SUBSTITUTION
from keysense.following.lane import EXACT
from keysense.following.pairing import Due, Limits, Pairs, Presses, Sounding, Written, due_times, middles
from keysense.following.passes import Stretch
from keysense.following.same_pitch import pair_same_pitch
from keysense.following.surest import hand_shift, surest
from keysense.notes import Take

__all__ = ["LOWEST", "Heard", "look_twice", "paired", "second_looks"]

Ints = npt.NDArray[np.int64]
_Types = tuple[type, ...]

LOWEST = -24  # the pitch that counts as 0: a part may be moved by two octaves


class Heard(NamedTuple):
    """The steps of the path: press, note, whether it is sure of it. Where those of each stretch begin, and its presses.

    Both of these tell the end, too.
    """

    row: list[int]
    note: list[int]
    sure: list[bool]
    begin: list[int]
    first: list[int]


def second_looks(parts: list[Stretch], sounding: Sounding, take: Take, pairs: npt.NDArray[np.void]) -> None:
    """Fill in the pairs of all stretches, which share the presses of the take out among them."""
    note = paired(parts, sounding, take, fast.second_look())
    (press,) = (note >= 0).nonzero()
    notes = note[press]
    pairs["target"][press], pairs["kind"][press] = sounding.row[notes], MATCH
    pairs["kind"][press[sounding.pitch[notes] != take.notes["pitch"][press]]] = SUBSTITUTION


def paired(parts: list[Stretch], sounding: Sounding, take: Take, compiled: Callable[..., Ints] | None) -> Ints:
    """The note of each press, an index into ``sounding``, -1 for none; by what was compiled of `look_twice`, or by it.

    What was compiled knows arrays of these types alone, in a row in memory.
    """
    p = Limits(*[getattr(c, name.upper()) for name in Limits._fields])
    columns = _columns(parts, sounding, take)
    if compiled is None:
        return look_twice(p, *[kind(*[values.tolist() for values in arrays]) for kind, arrays, _ in columns])
    return compiled(p, *[kind(*[*map(np.array, arrays, types)]) for kind, arrays, types in columns])


def _columns(
    parts: list[Stretch], sounding: Sounding, take: Take
) -> tuple[tuple[Any, tuple[npt.NDArray[Any], ...], _Types], ...]:
    """What `look_twice` reads: which tuple, of what, as which types."""
    played, onset_of = take.notes, sounding.onset_of
    first_note = onset_of.searchsorted(np.arange(len(sounding.onset_quarter) + 1))
    presses = (played["onset_s"], played["release_s"], played["pitch"].astype(np.int64) - LOWEST, played["velocity"])
    written = (sounding.onset_quarter, first_note, onset_of, sounding.pitch - LOWEST, sounding.left)
    steps = parts[0].steps if len(parts) == 1 else np.concatenate([part.steps for part in parts])
    kind, note = steps["kind"], sounding.at_row[steps["note"]]
    begin = np.cumsum([0, *(len(part.steps) for part in parts)])
    first = np.array([*(part.first_played for part in parts), parts[-1].end_played])
    heard = (steps["played"], note, (kind == EXACT) | (kind >= LATE), begin, first)
    return (
        (Presses, presses, (float, float, int, int)),
        (Written, written, (float, int, int, int, int)),
        (Heard, heard, (int, int, bool, int, int)),
    )


def look_twice(p: Limits, take: Presses, written: Written, heard: Heard) -> Ints:
    """The note of each press of a take, -1 for none."""
    touched = brushed(p, take)
    pairs = Pairs([-1] * len(touched), [False] * len(touched))
    for part in range(len(heard.begin) - 1):
        first, end = heard.first[part], heard.first[part + 1]
        begin, stop = heard.begin[part], heard.begin[part + 1]
        steps = [k for k in range(begin, stop) if heard.sure[k]]
        if not len(steps):
            steps = [k for k in range(begin, stop)]  # noqa: C416 - numba
        rows, notes = [heard.row[k] for k in steps], [heard.note[k] for k in steps]
        due, shift_s = Due(0, 0, 0, [0.0] * 0, [0.0] * 0, (0.0, 0.0)), (0.0, 0.0)
        for look in range(p.looks):
            if look:
                rows, notes = surest(p, take, written, pairs, first, end)
                shift_s = hand_shift(p, take, written, due, pairs, first, end)
            if len(rows):
                onsets, times = middles(p, written, take.onset_s, rows, notes, shift_s)
                due = due_times(p, written, onsets, times, take.onset_s[first], take.onset_s[end - 1], shift_s)
                pair_same_pitch(p, take, touched, written, due, first, end, pairs)
        left = [row for row in range(first, end) if pairs.note[row] < 0 and not touched[row]]
        if len(left):
            _others(p, take, written, due, pairs.note, first, end, left)
    return np.array(pairs.note)


def _others(
    p: Limits, take: Presses, written: Written, due: Due, note: list[int], first: int, end: int, rows: list[int]
) -> None:
    """Pair what the same-pitch pairing left: notes sounded again, others due just then, first tries."""
    begin = written.begin[due.low]
    sounded = [False] * (written.begin[due.high + 1] - begin)
    for row in range(first, end):
        if note[row] >= 0:
            sounded[note[row] - begin] = True
    at = Looked(take, written, due, first, end, note, begin, sounded, [0.0] * 0)
    repeated(p, at, rows)
    rows = [row for row in rows if note[row] < 0]
    instead(p, at, rows, p.instead_close_s, p.instead_close)
    after_a_pause(p, at, [row for row in rows if note[row] < 0])
    first_tries(p, at, [row for row in rows if note[row] < 0])
    instead(p, at, [row for row in rows if note[row] < 0], p.instead_within_s, p.instead_far)
