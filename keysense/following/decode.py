"""The path through one reading of the target.

`weighing` moves every living state on by a press; `sure` the best one alone, where all goes well at one place. A key
struck again sooner than a finger can is the other hand's share of a unison: it moves nothing, and is paired by the
second look.
"""

from __future__ import annotations

import math
import sys

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.jumping import HOPPED, JUMPED, LEFT_OUT, MOVED, STARTED
from keysense.following.lane import LATE, Lane
from keysense.following.sure import Sure
from keysense.following.weighing import Row

__all__ = ["HOPPED", "JUMPED", "LATE", "LEFT_OUT", "MOVED", "STARTED", "Step", "Sweep", "steps"]

Step = np.dtype([("played", "i4"), ("state", "i4"), ("note", "i4"), ("kind", "i1"), ("how", "i1")])


class Sweep(Sure):
    """The state of decoding; `hear` takes one key press after another, `path` reads the best path back."""

    def __init__(self, lane: Lane, log_pace: float, *, jumps: bool = True) -> None:
        super().__init__(lane, log_pace, jumps=jumps)
        self.struck: dict[int, float] = {}

    def hear(self, played: int, time_s: float, pitch: int) -> None:
        """Take one key press in."""
        self.presses += 1
        since_s = time_s - self.struck.get(pitch, -math.inf)
        self.struck[pitch] = time_s
        if since_s < c.ECHO_S or (since_s < c.UNISON_S and self._unison(since_s, pitch)):
            return  # both hands on one key: a step on would be a step too far
        if self.well < c.SURE_AFTER or not self.goes_on(played, time_s, pitch):
            self.weigh(played, time_s, pitch)

    def _unison(self, since_s: float, pitch: int) -> bool:
        """Whether a key struck again so soon is the other hand's, which is written on it too."""
        at, lane = self.best_state, self.lane
        if at < 0 or pitch * lane.size + at not in lane.doubled:
            return False
        return since_s < c.UNISON_SHARE * lane.next_quarters[at] * math.exp(self.carries()[1])

    def path(self) -> npt.NDArray[np.void]:
        """The best path, in the order played."""
        return steps(self.lane, self._back(sys.maxsize)[::-1])

    def tail(self, most: int) -> list[tuple[int, int]]:
        """The last steps of the best path, newest first: (press, row of the target)."""
        path = steps(self.lane, self._back(most))
        return list(zip(path["played"].tolist(), path["note"].tolist(), strict=True))

    def _back(self, most: int) -> list[Row]:
        row = self.carries()[-1] if self.best_state >= 0 else None
        rows: list[Row] = []
        while row is not None and len(rows) < most:
            rows.append(row)
            row = row[-1]
        return rows


def steps(lane: Lane, rows: list[Row]) -> npt.NDArray[np.void]:
    """The steps of a path as an array."""
    played, state, pitch, kind, how = np.array([row[:-1] for row in rows], np.int64).reshape(-1, 5).T
    out = np.zeros(len(rows), Step)
    out["played"], out["state"], out["kind"], out["how"] = played, state, kind, how
    out["note"] = lane.notes(state, pitch, kind)
    return out
