"""Whether the jumps stand: only if they gain enough for each note they place elsewhere, more where jumps are rare.

The best path without jumps need seldom be swept: most jumps lead to where the next presses are written, and these are
not written where the jump came from; straight on, each of them would have been for no note.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.decode import JUMPED, Sweep
from keysense.following.fast import Swept, heard
from keysense.following.lane import EXACT, HERE, WINDOW, Lane

__all__ = ["with_or_without"]

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Path = npt.NDArray[np.void]


def with_or_without(
    sweep: Sweep | Swept, curve: list[float], lane: Lane, pace: float, onset_s: Floats, pitch: Ints
) -> tuple[Path, float]:
    """The path that stands, `decode.Step` rows, and its value; given a sweep with jumps and its value by press."""
    path = sweep.path()
    (at,) = np.nonzero(path["how"] == JUMPED)
    if not len(at):
        return path, sweep.best
    rare = c.JUMP_RARE * len(at) * max(math.log(len(path) / (c.JUMP_USUAL * len(at))), 0.0)
    if _leads_away(path, at, lane, curve, pitch.tolist(), rare):
        return path, sweep.best
    needed = _needed(sweep.best, curve, int(path["played"][at[0]]), rare)
    straight, kept = heard(lane, pace, onset_s, pitch, jumps=False, needed=needed)
    if len(kept) == len(pitch):
        other = straight.path()
        if sweep.best - straight.best < c.JUMP_GAIN_PER_NOTE * _elsewhere(path, other) + rare:
            return other, straight.best
    return path, sweep.best


def _leads_away(path: Path, at: Ints, lane: Lane, curve: list[float], pitch: list[int], rare: float) -> bool:
    """Whether one of the jumps ``at`` these steps leaves a path straight on behind for good (see `_needed`).

    What that path could have gained by then is what is written within reach of where the jump came from.
    """
    played = path["played"][at].tolist()
    for o, begin in zip(path["state"][at - 1].tolist(), played, strict=True):
        most = rare + c.STRAIGHT_BEHIND + curve[begin - 1]
        for i in range(begin, min(begin + c.LOOK_AHEAD, len(pitch))):
            codes = lane.codes(pitch[i])
            there = codes.find(EXACT, o + HERE, o + WINDOW)
            if there >= 0:
                o, most = there - HERE, most + c.RIGHT
            elif codes[o + HERE + 1]:
                most += c.NEAR[1]
            if curve[i] > most + c.JUMP_GAIN_PER_NOTE * (i - played[0] + 1):
                return True
    return False


def _needed(best: float, curve: list[float], first: int, rare: float) -> list[float]:
    """After each press, the value below which a path without the jumps, of which the first is given, cannot stand.

    Either it cannot come to enough, even if every note were placed elsewhere: no more is to come than if every press
    were right, nor much more than came with jumps, which lead there too. Or it is so far behind by now, whatever was
    placed elsewhere so far, that it will not come back.
    """
    n, value = len(curve), np.asarray(curve)
    least = best - c.JUMP_GAIN_PER_NOTE * n - rare
    to_come = np.minimum(c.RIGHT * np.arange(n, 0, -1.0), best - value + c.HOPELESS)
    elsewhere = np.maximum(np.arange(n) - first + 1, 0)
    kept_up = value - c.JUMP_GAIN_PER_NOTE * elsewhere - c.STRAIGHT_BEHIND - rare
    needed: list[float] = np.maximum(least - to_come, kept_up).tolist()
    return needed


def _elsewhere(one: Path, other: Path) -> int:
    """How many presses are placed otherwise by the other path, or by one of the two alone."""
    places = dict(zip(one["played"].tolist(), one["state"].tolist(), strict=True))
    others = dict(zip(other["played"].tolist(), other["state"].tolist(), strict=True))
    return sum(places.get(i) != others.get(i) for i in places.keys() | others.keys())
