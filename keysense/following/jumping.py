"""Where a press may have jumped to, or started, and what that is worth.

A jump leaves the best state for any onset where the pressed key is written. It costs `JUMP`, less after an unexpected
pause, to a bar line, to the beginning and to a place near by; more the further away. A jump ahead by no more than
`HOP_QUARTERS` is a hop over an ornament: it opens no new stretch, and is allowed where jumps are not.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.lane import Lane

__all__ = ["HOPPED", "JUMPED", "MOVED", "STARTED", "Landings", "Leave", "landings"]

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]

MOVED, JUMPED, STARTED, HOPPED = 0, 1, 2, 3
_NEVER = -1e9


class Leave(NamedTuple):
    """The best state as it was before a press: what a jump would leave."""

    value: float
    state: int
    time: float
    log_row: int
    pace: float
    times: int


class Landings(NamedTuple):
    """Places a press may have jumped to, not yet confirmed."""

    played: int
    time: float
    pitch: int
    state: Ints
    value: Floats
    how: Ints
    leave: Leave


def landings(
    lane: Lane, played: int, time_s: float, pitch: int, leave: Leave, *, floor: float, jumps: bool, starts: bool
) -> Landings:
    """Where a press may have jumped to or started, each with its worth if that lies above the floor."""
    state = lane.exact(pitch)
    value = np.full(len(state), _NEVER)
    how = np.full(len(state), JUMPED)
    if leave.state >= 0 and len(state):
        pause = math.log(max(time_s - leave.time, 0.01) / lane.next_quarters[leave.state]) - leave.pace
        worth = leave.value + c.RIGHT + c.JUMP_NEAR - c.JUMP + min(max(c.PAUSE_WEIGHT * pause, 0.0), c.PAUSE_MOST)
        ahead = lane.onset_quarter[state] - lane.quarter[leave.state]
        hop = (ahead > 0) & (ahead <= c.HOP_QUARTERS)
        far = np.minimum(np.log(np.maximum(np.abs(ahead) / c.JUMP_NEAR_QUARTERS, 1.0)), c.JUMP_FARTHEST)
        bonus = lane.jump_bonus[state] if jumps else _NEVER
        nearer = c.JUMP_NEARER * np.minimum(np.abs(ahead), c.JUMP_NEAR_QUARTERS)  # of places alike the nearer
        value = worth - c.JUMP_FAR * far - nearer + np.where(hop, c.HOP_CHEAPER, bonus)
        how[hop] = HOPPED
    if starts:
        start = lane.start_worth[state]
        how[start > value] = STARTED
        value = np.maximum(value, start)
    keep = np.flatnonzero(value > floor)
    if len(keep) > c.LANDINGS_MOST:
        keep = np.sort(keep[np.argpartition(-value[keep], c.LANDINGS_MOST)[: c.LANDINGS_MOST]])
    return Landings(played, time_s, pitch, state[keep], value[keep], how[keep], leave)
