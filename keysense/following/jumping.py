"""Where a press may have jumped to, or started, and what that is worth.

A jump leaves the best state for any onset where the pressed key is written. It costs `JUMP`, less after an unexpected
pause, to a bar line, to the beginning and to a place near by; more the further away. A jump ahead by no more than
`HOP_QUARTERS` is a hop over an ornament: it opens no new stretch, and is allowed where jumps are not.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from operator import itemgetter
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.lane import Lane

__all__ = ["HOPPED", "JUMPED", "LEFT_OUT", "MOVED", "STARTED", "Carried", "Landings", "Leave", "Row", "landings"]

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]

MOVED, JUMPED, STARTED, HOPPED, LEFT_OUT = 0, 1, 2, 3, 4
_NEVER = -1e9
_FEW = 32
_quarter = itemgetter(1)


Row = tuple[int, int, int, int, int, "Row | None"]
"""A step: played, state, pitch, kind, how, the step before. What no living state comes from is forgotten by itself."""
Carried = tuple[float, float, int, float, int, int, int, Row]
"""What a state carries: first heard, pace, times learnt, price of the unheard, what was heard of it and of the two
onsets before (as bits), the step that led to it."""
Leave = tuple[float, int, float, Carried]
"""The best state as it was before a press, which a jump would leave: its value, onset and time, and what it carried."""


class Landings(NamedTuple):
    """Places a press may have jumped to, not yet confirmed."""

    played: int
    time: float
    pitch: int
    places: list[tuple[int, float, int]]  # state, value, how: states ascending
    leave: Leave
    top: float  # the greatest value


def landings(
    lane: Lane, played: int, time_s: float, pitch: int, leave: Leave, *, floor: float, jumps: bool, starts: bool
) -> Landings:
    """Where a press may have jumped to or started, each with its worth if that lies above the floor."""
    written = len(lane.exact(pitch))
    if not written:
        return Landings(played, time_s, pitch, [], leave, _NEVER)
    left, at, when, (_, pace, *_) = leave
    worth, here = _NEVER, 0.0
    if at >= 0:
        pause = math.log(max(time_s - when, 0.01) / lane.next_quarters[at]) - pace
        worth = left + c.RIGHT + c.JUMP_NEAR - c.JUMP + min(max(c.PAUSE_WEIGHT * pause, 0.0), c.PAUSE_MOST)
        here = lane.quarter[at]
    weigh = _weigh_few if written <= _FEW else _weigh_many
    found = weigh(lane, pitch, worth, here, floor, jumps, starts)
    return Landings(played, time_s, pitch, found, leave, max([value for _, value, _ in found], default=_NEVER))


def _weigh_few(
    lane: Lane, pitch: int, worth: float, here: float, floor: float, jumps: bool, starts: bool
) -> list[tuple[int, float, int]]:
    """The same as `_weigh_many`: of a few places, arrays take longer to call than plain numbers to reckon with."""
    out = []
    hop, near, far, nearer, farthest = c.HOP_QUARTERS, c.JUMP_NEAR_QUARTERS, c.JUMP_FAR, c.JUMP_NEARER, c.JUMP_FARTHEST
    cheaper, log, places = c.HOP_CHEAPER, math.log, lane.places(pitch)
    if not jumps and not starts:  # only what lies so near ahead
        places = places[
            bisect_right(places, here, key=_quarter) : bisect_right(places, here + hop + 1e-6, key=_quarter)
        ]
    for state, quarter, bonus, start_worth in places:
        ahead = quarter - here
        away, how = ahead if ahead > 0.0 else -ahead, JUMPED
        if 0.0 < ahead <= hop:
            bonus, how = cheaper, HOPPED
        elif not jumps:
            bonus = _NEVER
        if away < near:
            value = worth - nearer * away + bonus
        else:
            further = log(away / near)
            value = worth - far * (further if further < farthest else farthest) - nearer * near + bonus
        if starts and start_worth > value:
            value, how = start_worth, STARTED
        if value > floor:
            out.append((state, value, how))
    return out


def _weigh_many(
    lane: Lane, pitch: int, worth: float, here: float, floor: float, jumps: bool, starts: bool
) -> list[tuple[int, float, int]]:
    """State, value and how of each place whose value lies above the floor; of too many the best."""
    state, quarter, bonus, start_worth = lane.place_arrays(pitch)
    ahead = quarter - here
    away, hop = np.abs(ahead), (ahead > 0) & (ahead <= c.HOP_QUARTERS)
    far = np.minimum(np.log(np.maximum(away / c.JUMP_NEAR_QUARTERS, 1.0)), c.JUMP_FARTHEST)
    nearer = c.JUMP_NEARER * np.minimum(away, c.JUMP_NEAR_QUARTERS)  # of places alike the nearer
    value = worth - c.JUMP_FAR * far - nearer + np.where(hop, c.HOP_CHEAPER, bonus if jumps else _NEVER)
    how = np.where(hop, HOPPED, JUMPED)
    if starts:
        how[start_worth > value] = STARTED
        value = np.maximum(value, start_worth)
    keep = np.flatnonzero(value > floor)
    if len(keep) > c.LANDINGS_MOST:
        keep = np.sort(keep[np.argsort(-value[keep], kind="stable")[: c.LANDINGS_MOST]])
    return list(zip(state[keep].tolist(), value[keep].tolist(), how[keep].tolist(), strict=True))
