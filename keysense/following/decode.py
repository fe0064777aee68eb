"""The path through one reading of the target.

`weighing` moves every living state on by a press. While all goes well at one place there is little to weigh: after
`SURE_AFTER` presses taken well, with no other place in the running, only the best state is moved on (`Sweep._sure`). At
the first press it cannot take well the sweep goes back by the last `SURE_BACK` of them and weighs them all: whatever
differs from the best path only there, a skip or a slip just before, is in the running again. What was behind for longer
than that would have needed more luck than a jump. It takes two fifths of the work from plain playing.

A key struck again sooner than a finger can is the other hand's share of a unison: it moves nothing, and is paired by
the second look.
"""

from __future__ import annotations

import math
import sys
from collections import deque

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.jumping import HOPPED, JUMPED, LEFT_OUT, MOVED, STARTED
from keysense.following.lane import EXACT, HERE, LATE, Lane
from keysense.following.weighing import BITS, NEVER, SHORTEST_S, Carried, Land, Row, Weighing

__all__ = ["HOPPED", "JUMPED", "LATE", "LEFT_OUT", "MOVED", "STARTED", "Step", "Sweep", "steps"]

Step = np.dtype([("played", "i4"), ("state", "i4"), ("note", "i4"), ("kind", "i1"), ("how", "i1")])
Before = tuple[int, float, Carried, float, int, float, int]
"""The best state before a press: which, its value, what it carried, its time; then the press: number, time, key."""


class Sweep(Weighing):
    """The state of decoding; `hear` takes one key press after another, `path` reads the best path back."""

    def __init__(self, lane: Lane, log_pace: float, *, jumps: bool = True) -> None:
        super().__init__(lane, log_pace, jumps=jumps)
        self.struck: dict[int, float] = {}
        self.trail: deque[Before] = deque(maxlen=c.SURE_BACK)  # presses that only the best state took
        self.alone: list[Before] = []  # where one state alone was living, once a stretch of plain playing

    def hear(self, played: int, time_s: float, pitch: int) -> None:
        """Take one key press in."""
        self.presses += 1
        since_s = time_s - self.struck.get(pitch, -math.inf)
        self.struck[pitch] = time_s
        if since_s < c.ECHO_S or (
            since_s < c.UNISON_S and self._unison(since_s, pitch)
        ):  # both hands on one key: a step on would be a step too far
            return
        if self.well < c.SURE_AFTER or not self._sure(played, time_s, pitch):
            self.weigh(played, time_s, pitch)

    def _sure(self, played: int, time_s: float, pitch: int) -> bool:
        """Move the best state alone on, where all goes well and no other place is in the running."""
        trail, s = self.trail, self.best_state
        if not trail and not self._one_place():
            return False
        land = self._way_on(time_s, pitch)
        if land is None:
            self._go_back()
            return False
        if not trail:
            for other in self.active:
                self.value[other] = self.best if other == s else NEVER
        trail.append((s, self.best, self.carried[s], self.best_time, played, time_s, pitch))
        self._land(land, NEVER, played, time_s, pitch, 1 << pitch % BITS)
        if self.best_state != s:
            self.value[s] = NEVER
        self.active = [self.best_state]
        return True

    def _one_place(self) -> bool:
        """Whether no jump waits, no living state is far, and none but the best took the last press as written."""
        active, carried = self.active, self.carried
        if self.waiting or max(active) - min(active) > c.REACH:
            return False
        last = carried[self.best_state][-1][0]
        rows = (carried[s][-1] for s in active)
        return sum(row[0] >= last and (row[3] == EXACT or row[3] >= LATE) for row in rows) == 1

    def _way_on(self, time_s: float, pitch: int) -> Land | None:
        """How the best state takes a press: in its chord or as the next onset, if that is to take it well."""
        s, lane = self.best_state, self.lane
        codes, own = lane.codes(pitch), self.carried[s]
        first, pace, times, unheard, heard, *_ = own
        waited, gain, o, surprise = time_s - first, NEVER, s, 0.0
        if codes[s + HERE] == EXACT and not heard & 1 << pitch % BITS:
            gain = c.RIGHT - min(c.STAY_PER_S * waited, c.STAY_MOST)
        if codes[s + HERE + 1] == EXACT and gain < c.RIGHT - unheard:
            raw = math.log(max(waited, SHORTEST_S) / (lane.quarter[s + 1] - lane.quarter[s])) - pace
            strain = c.TEMPO_WEIGHT * (abs(raw) - c.TEMPO_FREE)
            on = c.RIGHT - unheard - (min(strain, c.TEMPO_MOST) if times and strain > 0.0 else 0.0)
            if on > gain:
                gain, o, surprise = on, s + 1, raw
        return {o: (self.best + gain, s, EXACT, surprise, own)} if gain >= c.TAKEN_WELL else None

    def _go_back(self) -> None:
        """Weigh the last presses after all, from the state that took the first of them."""
        if not self.trail:
            return
        trail = [*self.trail]
        if len(trail) == c.SURE_BACK:
            self.alone.append(trail[0])
        self.trail.clear()
        self.value[self.best_state] = NEVER
        s, self.best, self.carried[s], self.best_time, *_ = trail[0]
        self.best_state, self.value[s] = s, self.best
        self.active, self.listed = [s], self.best - c.BEAM
        for *_, played, time_s, pitch in trail:
            self.weigh(played, time_s, pitch)

    def _unison(self, since_s: float, pitch: int) -> bool:
        """Whether a key struck again so soon is the other hand's, which is written on it too."""
        at, lane = self.best_state, self.lane
        if at < 0 or pitch * lane.size + at not in lane.doubled:
            return False
        return since_s < c.UNISON_SHARE * lane.next_quarters[at] * math.exp(self.carried[at][1])

    def without_jumps(self, before: Before, struck: dict[int, float]) -> Sweep:
        """A sweep that makes no jumps, from before a press at which one state alone was living.

        struck: when each key was last pressed. The first step of its path is the last one before that press.
        """
        other = Sweep(self.lane, self.log_pace, jumps=False)
        s, best, carried, best_time, played, *_ = before
        first: Row = (*carried[-1][:-1], None)
        other.value[s], other.carried[s], other.active = best, (*carried[:-1], first), [s]
        other.best, other.best_state, other.best_time, other.listed = best, s, best_time, best - c.BEAM
        other.presses, other.well, other.struck = played, c.SURE_AFTER, struck
        return other

    def path(self) -> npt.NDArray[np.void]:
        """The best path, in the order played."""
        return steps(self.lane, self._back(sys.maxsize)[::-1])

    def tail(self, most: int) -> list[tuple[int, int]]:
        """The last steps of the best path, newest first: (press, row of the target)."""
        path = steps(self.lane, self._back(most))
        return list(zip(path["played"].tolist(), path["note"].tolist(), strict=True))

    def _back(self, most: int) -> list[Row]:
        row = self.carried[self.best_state][-1] if self.best_state >= 0 else None
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
