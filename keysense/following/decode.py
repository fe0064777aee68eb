"""The path through the target: a Viterbi sweep over "which onset was heard last", all readings at once.

Model
    Every key press either is taken by a landing (see `table`) or fits nowhere. One that fits nowhere costs nothing and
    leaves every state alive, so staying put always competes with moving and with jumping. A state carries its value,
    when its onset was first heard, the running seconds a quarter (as a logarithm), how often that was learnt, and
    which notes of its chord and of the two onsets before have been heard.
    A press may stay in the chord (dearer the later it comes), move on by up to `REACH` onsets (each one passed over
    and each chord note left unheard costs), come late for an onset just passed, jump from the best state of its lane
    to any place where its pitch is written, or be the start. Moving on is dearer the further the time taken is from
    the running tempo, but never more than `TEMPO_MOST`: a wait is no reason to lose the place.
    Only landings whose neighbourhood lies within `BEAM` of the lane's best are weighed; jumps land anywhere.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.table import EXACT, LATE, Landings, Table

__all__ = ["HOPPED", "JUMPED", "MOVED", "STARTED", "Step", "Sweep"]

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]

MOVED, JUMPED, STARTED, HOPPED = 0, 1, 2, 3
_NEVER = -1e9
Step = np.dtype([("played", "i4"), ("state", "i4"), ("note", "i4"), ("kind", "i1"), ("how", "i1"), ("before", "i4")])


@dataclass
class _Best:
    """Of each lane: the best state now."""

    value: Floats
    state: Ints
    time: Floats


class Sweep:
    """The state of decoding; `hear` takes one key press after another, `path` reads the best path back."""

    def __init__(self, table: Table, log_pace: float) -> None:
        n, lanes = table.size, len(table.lanes)
        self.table = table
        self.log_pace = log_pace
        self.value = np.full(n, _NEVER)
        self.carry = np.zeros((n, 4))  # first heard, log seconds a quarter, times learnt, price of what is unheard
        self.heard = np.zeros((n, 3), np.int64)  # bits of this chord, of the onset before, of the one before that
        self.last = np.full(n, -1, np.int64)  # row of the log that made this state
        self.best = _Best(np.zeros(lanes), np.full(lanes, -1, np.int64), np.zeros(lanes))
        self.log = np.zeros(1024, Step)
        self.logged = 0

    def hear(self, played: int, time_s: float, pitch: int) -> None:
        """Take one key press in."""
        rows = self.table.landings.get(pitch)
        if rows is None:
            return
        value, source, how = self._moves(rows, time_s)
        self._jumps(rows, time_s, value, source, how)
        take = np.flatnonzero((value > self.value[rows.state]) & (value > self.best.value[rows.lane] - c.BEAM))
        if len(take):
            if len(take) > 1:
                take = take[np.argsort(value[take], kind="stable")]  # where two land on one state the better stays
            self._land(rows, take, value[take], source[take], how[take], played, time_s)

    def _moves(self, rows: Landings, time_s: float) -> tuple[Floats, Ints, Ints]:
        """Of each landing: the best value by moving on or staying, and the state it comes from."""
        n = len(rows.state)
        value, source = np.full(n, _NEVER), np.full(n, -1, np.int64)
        how = np.zeros(n, np.int64)
        alive = self.value[rows.back]
        near = np.flatnonzero(alive.max(1) > self.best.value[rows.lane] - c.BEAM)
        if not len(near):
            return value, source, how
        back = rows.back[near]
        carried = self.carry[back]
        waited = time_s - carried[:, :, 0]
        surprise = np.log(np.maximum(waited, 0.005)) - rows.log_quarters[near] - carried[:, :, 1]
        strain = np.clip(c.TEMPO_WEIGHT * (np.abs(surprise) - c.TEMPO_FREE), 0.0, c.TEMPO_MOST)
        strain *= carried[:, :, 2] > 0
        total = alive[near] - rows.move_cost[near] - strain - carried[:, :, 3]
        total[:, 0] = self._stay(rows, near, back[:, 0], alive[near, 0], waited[:, 0])
        came = total.argmax(1)
        value[near] = total[np.arange(len(near)), came] + rows.gain[near]
        source[near] = back[np.arange(len(near)), came]
        return value, source, how

    def _stay(self, rows: Landings, near: Ints, state: Ints, alive: Floats, waited: Floats) -> Floats:
        """Staying: joining the chord, or coming late for an onset just passed; never for a note already heard."""
        kind, bit = rows.kind[near], rows.bit[near]
        late = kind >= LATE
        column = np.where(late, kind - LATE + 1, 0)
        fresh = (self.heard[state, column] >> bit) & 1 == 0
        cost = np.minimum(c.STAY_PER_S * waited, c.STAY_MOST) + rows.move_cost[near, 0]
        fresh &= ~late | (waited < c.LATE_WITHIN_S)
        return np.where(fresh, alive - cost, _NEVER)

    def _jumps(self, rows: Landings, time_s: float, value: Floats, source: Ints, how: Ints) -> None:
        """Let jumps and starts compete with the moves, in place."""
        if not len(rows.exact):
            return
        best, lane = self.best, rows.lane[rows.exact]
        start = c.RIGHT - rows.exact_start
        at = best.state
        pace = np.exp(self.carry[at, 1]) * self.table.next_quarters[at]
        pause = np.log(np.maximum(time_s - best.time, 0.01) / pace)
        leave = best.value - c.JUMP + np.clip(c.PAUSE_WEIGHT * pause, 0.0, c.PAUSE_MOST)
        leave[at < 0] = _NEVER
        ahead = rows.exact_quarter - self.table.quarter[at][lane]
        hop = (ahead > 0) & (ahead <= c.HOP_QUARTERS)
        away = np.abs(ahead) / c.JUMP_NEAR_QUARTERS
        nearness = c.JUMP_NEAR - c.JUMP_FAR * np.log(np.maximum(away, 1.0))
        bonus = np.where(hop, c.HOP_CHEAPER, rows.exact_bonus)
        jump = leave[lane] + bonus + np.nan_to_num(nearness, nan=0.0) + c.RIGHT
        better = jump > np.maximum(start, value[rows.exact])
        where = rows.exact[better]
        value[where], source[where], how[where] = jump[better], at[lane[better]], np.where(hop[better], HOPPED, JUMPED)
        better = start > value[rows.exact]
        where = rows.exact[better]
        value[where], source[where], how[where] = start[better], -1, STARTED

    def _land(
        self, rows: Landings, take: Ints, value: Floats, source: Ints, how: Ints, played: int, time_s: float
    ) -> None:
        """Write the new states."""
        state, kind, bit = rows.state[take], rows.kind[take], rows.bit[take]
        before = np.where(how == STARTED, -1, self.last[source])
        carry = self.carry[source]
        heard = self.heard[source]
        step = state - source
        moved, jumped = (how == MOVED) & (step > 0), how != MOVED
        self._learn(carry, state, source, moved, time_s)
        carry[how == STARTED, 1] = self.log_pace
        carry[how == STARTED, 2] = 0
        fresh = moved | jumped
        joined = (how == MOVED) & (step == 0) & (kind == EXACT) & (heard[:, 0] == 0)
        carry[fresh | joined, 0] = time_s
        older = heard.copy()
        heard[fresh, 0] = 0
        heard[moved, 1] = np.where(step[moved] == 1, older[moved, 0], 0)
        heard[moved, 2] = np.where(step[moved] == 1, older[moved, 1], np.where(step[moved] == 2, older[moved, 0], 0))
        heard[jumped, 1:] = -1
        column = np.maximum(kind - LATE + 1, 0)
        marks = (kind == EXACT) | (kind >= LATE)
        one = np.where(marks, np.int64(1) << bit, 0)
        heard[np.arange(len(take)), column] |= one
        carry[fresh, 3] = c.UNHEARD * self.table.chord_size[state[fresh]]
        carry[kind == EXACT, 3] -= c.UNHEARD
        self.value[state], self.carry[state], self.heard[state] = value, carry, heard
        self._note(state, rows.note[take], kind, how, before, played)
        self._best(rows.lane[take], state, value, time_s)

    def _learn(self, carry: Floats, state: Ints, source: Ints, moved: npt.NDArray[np.bool_], time_s: float) -> None:
        """The running tempo takes over a share of each surprise; a first interval all of it."""
        if not moved.any():
            return
        taken = np.log(np.maximum(time_s - carry[moved, 0], 0.005))
        written = np.log(self.table.quarter[state[moved]] - self.table.quarter[source[moved]])
        surprise = taken - written - carry[moved, 1]
        times = carry[moved, 2]
        share = np.maximum(c.TEMPO_LEARN, 1.0 / (times + 1.0))
        clip = np.where(times == 0, 1.2, c.TEMPO_CLIP)
        carry[moved, 1] += share * np.clip(surprise, -clip, clip)
        carry[moved, 2] = times + 1

    def _note(self, state: Ints, note: Ints, kind: Ints, how: Ints, before: Ints, played: int) -> None:
        k = len(state)
        if self.logged + k > len(self.log):
            self.log = np.concatenate([self.log, np.zeros(max(len(self.log), k), Step)])
        rows = self.log[self.logged : self.logged + k]
        rows["played"], rows["state"], rows["note"] = played, state, note
        rows["kind"], rows["how"], rows["before"] = kind, how, before
        self.last[state] = np.arange(self.logged, self.logged + k)
        self.logged += k

    def _best(self, lane: Ints, state: Ints, value: Floats, time_s: float) -> None:
        for i in range(len(lane)):
            which = lane[i]
            if value[i] > self.best.value[which]:
                self.best.value[which], self.best.state[which] = value[i], state[i]
                self.best.time[which] = time_s

    def path(self, lane: int) -> npt.NDArray[np.void]:
        """The best path of a lane, in the order played."""
        rows: list[int] = []
        state = self.best.state[lane]
        at = int(self.last[state]) if state >= 0 else -1
        while at >= 0:
            rows.append(at)
            at = int(self.log["before"][at])
        return self.log[np.asarray(rows[::-1], np.int64)] if rows else np.zeros(0, Step)
