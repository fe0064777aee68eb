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
    Only landings whose neighbourhood lies within `BEAM` of the lane's best are weighed; jumps land anywhere. Lanes that
    have fallen hopelessly behind are no longer weighed (`HOPELESS`).
"""

from __future__ import annotations

import math
from bisect import bisect_right

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.table import EXACT, LATE, Landings, Table

__all__ = ["HOPPED", "JUMPED", "MOVED", "STARTED", "Step", "Sweep"]

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]

MOVED, JUMPED, STARTED, HOPPED = 0, 1, 2, 3
Step = np.dtype([("played", "i4"), ("state", "i4"), ("note", "i4"), ("kind", "i1"), ("how", "i1"), ("before", "i4")])

_NEVER = -1e9
_WAYS = c.REACH + 1
_VALUE, _HEARD_S, _PACE, _WEIGHT, _UNHEARD, _TIMES = range(6)  # columns of the states
_FEW = 24  # up to so many landings it is quicker to weigh all than to look for the near ones
_SHORTEST_S = 0.005


class Sweep:
    """The state of decoding; `hear` takes one key press after another, `path` reads the best path back."""

    def __init__(self, table: Table, log_pace: float) -> None:
        lanes = len(table.lanes)
        self.table = table
        self.log_pace = log_pace
        self.state = np.zeros((table.size, 6))
        self.state[:, _VALUE] = _NEVER
        self.heard = np.zeros((table.size, 3), np.int64)  # bits of this chord and of the two onsets before
        self.last = np.full(table.size, -1, np.int64)  # row of the log that made this state
        self.best_value = np.zeros(lanes)
        self.best_state = [-1] * lanes
        self.best_time = [0.0] * lanes
        self.quarter = np.nan_to_num(table.quarter)
        self.log: list[tuple[int, Ints, Ints, Ints, Ints, Ints]] = []
        self.begins: list[int] = []  # where each entry of the log begins, counted in steps
        self.logged = 0
        self.presses = 0

    def hear(self, played: int, time_s: float, pitch: int) -> None:
        """Take one key press in."""
        self.presses += 1
        if self.presses % c.HOPELESS_EVERY == 0:
            self._drop_hopeless()
        rows = self.table.landings(pitch)
        if rows is None:
            return
        value, source, raw = self._moves(rows, time_s)
        how = np.zeros(len(value), np.int64)
        self._jumps(rows, time_s, value, source, how)
        floor = np.maximum(self.state[rows.state, _VALUE], self.best_value[rows.lane] - c.BEAM)
        take = (value > floor).nonzero()[0]
        if len(take):
            if len(take) > 1:
                take = take[value[take].argsort(kind="stable")]  # where two land on one state the better stays
            self._land(rows, take, value[take], source[take], how[take], raw[take], played, time_s)

    def _moves(self, rows: Landings, time_s: float) -> tuple[Floats, Ints, Floats]:
        """Of each landing: the best value by moving on or staying, where from, and the surprise in its time."""
        n = len(rows.state)
        if n <= _FEW:
            return self._weigh(rows, slice(None), rows.back, rows.first_way, time_s)
        value, source, raw = np.full(n, _NEVER), np.zeros(n, np.int64), np.zeros(n)
        alive = self.state[:, _VALUE][rows.back].max(1)
        near = (alive > self.best_value[rows.lane] - c.BEAM).nonzero()[0]
        if len(near):
            few = self._weigh(rows, near, rows.back[near], np.arange(0, _WAYS * len(near), _WAYS), time_s)
            value[near], source[near], raw[near] = few
        return value, source, raw

    def _weigh(
        self, rows: Landings, near: Ints | slice, back: Ints, first_way: Ints, time_s: float
    ) -> tuple[Floats, Ints, Floats]:
        was = self.state[back]
        waited = time_s - was[:, :, _HEARD_S]
        raw = np.log(np.maximum(waited, _SHORTEST_S))
        raw -= rows.log_quarters[near]
        raw -= was[:, :, _PACE]
        strain = np.abs(raw)
        strain -= c.TEMPO_FREE
        np.maximum(strain, 0.0, out=strain)
        strain *= was[:, :, _WEIGHT]
        np.minimum(strain, c.TEMPO_MOST, out=strain)
        total = was[:, :, _VALUE] - was[:, :, _UNHEARD]
        total -= rows.move_cost[near]
        total -= strain
        total[:, 0] = self._stay(rows, near, was[:, 0, _VALUE], waited[:, 0])
        way = total.argmax(1) + first_way
        return total.ravel()[way] + rows.gain[near], back.ravel()[way], raw.ravel()[way]

    def _stay(self, rows: Landings, near: Ints | slice, alive: Floats, waited: Floats) -> Floats:
        """Staying: joining the chord, or coming late for an onset just passed; never for a note already heard."""
        fresh = (self.heard.ravel()[rows.heard_at[near]] & rows.mark[near]) == 0
        fresh &= waited < rows.late_s[near]
        cost = np.minimum(c.STAY_PER_S * waited, c.STAY_MOST)
        cost += rows.move_cost[near, 0]
        return np.where(fresh, alive - cost, _NEVER)

    def _jumps(self, rows: Landings, time_s: float, value: Floats, source: Ints, how: Ints) -> None:
        """Let jumps and starts compete with the moves, in place."""
        exact = rows.exact
        if not len(exact):
            return
        lane = rows.exact_lane
        leave = np.array([self._leave(i, time_s) for i in range(len(self.best_state))])
        at = np.array(self.best_state)
        ahead = rows.exact_quarter - self.quarter[at][lane]
        hop = (ahead > 0) & (ahead <= c.HOP_QUARTERS)
        jump = np.abs(ahead)
        jump *= 1.0 / c.JUMP_NEAR_QUARTERS
        np.log(np.maximum(jump, 1.0), out=jump)
        jump *= -c.JUMP_FAR
        jump += np.where(hop, c.HOP_CHEAPER, rows.exact_bonus)
        jump += leave[lane]
        better = (jump > np.maximum(rows.exact_start, value[exact])).nonzero()[0]
        if len(better):
            where = exact[better]
            value[where], source[where] = jump[better], at[lane[better]]
            how[where] = np.where(hop[better], HOPPED, JUMPED)
        if self.presses <= c.START_WITHIN or max(self.best_value) < c.BEAM + c.RIGHT:
            better = (rows.exact_start > value[exact]).nonzero()[0]
            where = exact[better]
            value[where], how[where] = rows.exact_start[better], STARTED

    def _leave(self, lane: int, time_s: float) -> float:
        """What a jump from the best state of a lane is worth, before it is known where to."""
        at = self.best_state[lane]
        if at < 0:
            return _NEVER
        pause = math.log(max(time_s - self.best_time[lane], 0.01)) - self.table.log_next[at] - self.state[at, _PACE]
        discount = min(max(c.PAUSE_WEIGHT * pause, 0.0), c.PAUSE_MOST)
        return float(self.best_value[lane] + c.RIGHT + c.JUMP_NEAR - c.JUMP + discount)

    def _land(
        self,
        rows: Landings,
        take: Ints,
        value: Floats,
        source: Ints,
        how: Ints,
        raw: Floats,
        played: int,
        now: float,
    ) -> None:
        """Write the new states."""
        state, kind, mark = rows.state[take], rows.kind[take], rows.mark[take]
        carry, heard, before = self.state[source], self.heard[source], self.last[source]
        step = state - source
        moved = (how == MOVED) & (step > 0)
        stayed = (how == MOVED) & (step == 0)
        started = how == STARTED
        if started.any():
            before[started] = -1
            carry[started] = (0.0, now, self.log_pace, 0.0, 0.0, 0.0)
        if moved.any():
            self._learn(carry, moved, raw)
        restarts = ~stayed | ((kind == EXACT) & (heard[:, 0] == 0))
        carry[restarts, _HEARD_S] = now
        carry[:, _UNHEARD] = np.where(stayed, carry[:, _UNHEARD], self.table.unheard[state])
        carry[:, _UNHEARD] -= np.where(kind == EXACT, c.UNHEARD, 0.0)
        carry[:, _VALUE] = value
        if not stayed.all():
            _shift_heard(heard, step, moved, stayed)
        heard[np.arange(len(take)), rows.column[take]] |= np.where((kind == EXACT) | (kind >= LATE), mark, 0)
        self.state[state], self.heard[state] = carry, heard
        self.last[state] = np.arange(self.logged, self.logged + len(take))
        self.begins.append(self.logged)
        self.logged += len(take)
        self.log.append((played, state, rows.note[take], kind, how, before))
        self._best(rows.lane[take].tolist(), state.tolist(), value.tolist(), now)

    def _learn(self, carry: Floats, moved: npt.NDArray[np.bool_], raw: Floats) -> None:
        """The running tempo takes over a share of each surprise; a first interval nearly all of it."""
        times = carry[:, _TIMES]
        clip = np.where(times == 0, c.TEMPO_FIRST_CLIP, c.TEMPO_CLIP)
        share = np.maximum(c.TEMPO_LEARN, 1.0 / (times + 1.0))
        carry[:, _PACE] += np.where(moved, share * np.minimum(np.maximum(raw, -clip), clip), 0.0)
        carry[:, _TIMES] += moved
        carry[moved, _WEIGHT] = c.TEMPO_WEIGHT

    def _best(self, lane: list[int], state: list[int], value: list[float], time_s: float) -> None:
        for which, at, worth in zip(lane, state, value, strict=True):
            if worth > self.best_value[which]:
                self.best_value[which] = worth
                self.best_state[which], self.best_time[which] = at, time_s

    def _drop_hopeless(self) -> None:
        """Take lanes that cannot win any more out of the table; the plain reading stays."""
        plain = self.table.lanes[0].hypothesis
        top = float(self.best_value.max())
        keep = [
            lane.hypothesis is plain or value > top - c.HOPELESS
            for lane, value in zip(self.table.lanes, self.best_value.tolist(), strict=True)
        ]
        self.table.keep_lanes(keep)

    def path(self, lane: int) -> npt.NDArray[np.void]:
        """The best path of a lane, in the order played."""
        at = self.best_state[lane]
        row = int(self.last[at]) if at >= 0 else -1
        if row < 0:
            return np.zeros(0, Step)
        log = self._whole_log()
        before = log["before"].tolist()
        rows = []
        while row >= 0:
            rows.append(row)
            row = before[row]
        return log[rows[::-1]]

    def tail(self, lane: int, steps: int) -> list[tuple[int, int]]:
        """The last steps of the best path of a lane, newest first: (press, row of the target)."""
        at = self.best_state[lane]
        row = int(self.last[at]) if at >= 0 else -1
        out: list[tuple[int, int]] = []
        while row >= 0 and len(out) < steps:
            entry = bisect_right(self.begins, row) - 1
            played, _, note, _, _, before = self.log[entry]
            within = row - self.begins[entry]
            out.append((played, int(note[within])))
            row = int(before[within])
        return out

    def _whole_log(self) -> npt.NDArray[np.void]:
        out = np.zeros(self.logged, Step)
        for i, name in enumerate(("state", "note", "kind", "how", "before"), 1):
            out[name] = np.concatenate([entry[i] for entry in self.log])
        out["played"] = np.repeat([entry[0] for entry in self.log], [len(entry[1]) for entry in self.log])
        return out


def _shift_heard(heard: Ints, step: Ints, moved: npt.NDArray[np.bool_], stayed: npt.NDArray[np.bool_]) -> None:
    """What was heard of the onset before becomes what was heard two before, and so on; unknown after a jump."""
    here, before = heard[:, 0].copy(), heard[:, 1].copy()
    by_one, by_two = moved & (step == 1), moved & (step == 2)
    gone = ~stayed & ~moved
    heard[:, 2] = np.where(
        stayed, heard[:, 2], np.where(by_one, before, np.where(by_two, here, -gone.astype(np.int64)))
    )
    heard[:, 1] = np.where(stayed, before, np.where(by_one, here, -gone.astype(np.int64)))
    heard[~stayed, 0] = 0
