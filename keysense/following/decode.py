"""The path through one reading of the target: a Viterbi sweep over "which onset was heard last".

Model
    Every key press either is taken at an onset (see `lane`) or fits nowhere. One that fits nowhere costs nothing and
    leaves every state alive, so staying put always competes with moving and with jumping. A state carries its value,
    when its onset was first heard, the running seconds a quarter (as a logarithm), how often that was learnt, and
    which notes of its chord and of the two onsets before have been heard.
    A press may stay in the chord (dearer the later it comes), move on by up to `REACH` onsets (each one passed over
    and each chord note left unheard costs), come late for an onset just passed, jump from the best state to any place
    where its pitch is written, or be the start. Moving on is dearer the further the time taken is from the running
    tempo, but never more than `TEMPO_MOST`: a wait is no reason to lose the place. A key struck again sooner than a
    finger can is the other hand's share of a unison: it moves nothing, and is paired by the second look.

Sparing time
    Only states within `BEAM` of the best are moved on. Jumps are weighed only where the best state could not take a
    press well, for that press and the one before it; and a landing becomes a state only when one of the two presses
    that follow fits there too, for a jump of a single note never pays. All of it is plain scalars: an array costs more
    to call than the handful of living states cost to walk over.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.jumping import HOPPED, JUMPED, MOVED, STARTED, Landings, Leave, landings
from keysense.following.lane import BESIDE, EXACT, GAIN, HERE, WINDOW, Lane

__all__ = ["HOPPED", "JUMPED", "LATE", "MOVED", "STARTED", "Step", "Sweep"]

LATE = 5  # kinds below are the codes of the lane; LATE and LATE + 1 came for one and two onsets before
Step = np.dtype([("played", "i4"), ("state", "i4"), ("note", "i4"), ("kind", "i1"), ("how", "i1")])

_NEVER = -1e9
_NONE = bytes(WINDOW)
_AHEAD = HERE + 1
_SHORTEST_S = 0.005
_BITS = 61  # a chord's keys are told apart by their remainder: fits any word, and keys so far apart share no chord


class Sweep:
    """The state of decoding; `hear` takes one key press after another, `path` reads the best path back."""

    def __init__(self, lane: Lane, log_pace: float, *, jumps: bool = True) -> None:
        n = lane.size
        self.lane, self.jumps, self.log_pace = lane, jumps, log_pace
        self.value = [_NEVER] * n
        self.first = [0.0] * n
        self.pace = [0.0] * n
        self.times = [0] * n
        self.unheard = [0.0] * n
        self.heard: list[tuple[int, int, int]] = [(0, 0, 0)] * n
        self.last = [-1] * n
        self.active: list[int] = []
        self.log: list[tuple[int, int, int, int, int, int]] = []  # played, state, pitch, kind, how, row before
        self.best, self.best_state, self.best_time = 0.0, -1, 0.0
        self.presses = 0
        self.struck: dict[int, float] = {}
        self.waiting: list[Landings] = []
        self.previous: tuple[int, float, int, Leave] | None = None  # a press that was not weighed for jumps yet

    def hear(self, played: int, time_s: float, pitch: int) -> None:
        """Take one key press in."""
        self.presses += 1
        echo = time_s - self.struck.get(pitch, -math.inf) < c.ECHO_S
        self.struck[pitch] = time_s
        if echo:  # both hands on one key: a step on would be a step too far
            return
        leave, before = self._leave(), self.best
        if self.waiting:
            self._confirm(pitch)
        self.active = [s for s in self.active if self.value[s] > self.best - c.BEAM]
        self._advance(self.active, played, time_s, pitch)
        if self.best - before >= c.TAKEN_WELL and self.presses > c.START_SURELY_WITHIN:
            self.previous = (played, time_s, pitch, leave)
            return
        if self.previous is not None:
            self.waiting.append(self._landings(*self.previous))
            self._advance(self._confirm(pitch, only=self.waiting[-1:]), played, time_s, pitch)
            self.previous = None
        self.waiting.append(self._landings(played, time_s, pitch, leave))
        self.waiting = [w for w in self.waiting if len(w.state) and w.played > played - c.CONFIRM_WITHIN]

    def _leave(self) -> Leave:
        at = self.best_state
        if at < 0:
            return Leave(0.0, -1, 0.0, -1, self.log_pace, 0)
        return Leave(self.best, at, self.best_time, self.last[at], self.pace[at], self.times[at])

    def _advance(self, states: list[int], played: int, time_s: float, pitch: int) -> None:
        """Move states on by one press: every way each could take it, the best way into each state kept."""
        codes, floor, bit = self.lane.codes(pitch), self.best - c.BEAM, 1 << pitch % _BITS
        value, unheard = self.value, self.unheard
        land: dict[int, tuple[float, int, int, float]] = {}
        for s in sorted(states, key=value.__getitem__, reverse=True):  # the best raise the floor for the rest
            window = codes[s : s + WINDOW]
            if window == _NONE or value[s] + c.RIGHT <= floor:
                continue
            if window[:_AHEAD] != _NONE[:_AHEAD]:
                stay = self._stay(s, window, bit, time_s - self.first[s])
                if stay is not None and value[s] + stay[0] > (land[s][0] if s in land else floor):
                    land[s] = (value[s] + stay[0], s, stay[1], 0.0)
                    floor = max(floor, land[s][0] - c.BEAM)
            most = GAIN[EXACT] if EXACT in window[_AHEAD:] else GAIN[BESIDE]
            if value[s] - unheard[s] + most > floor and window[_AHEAD:] != _NONE[_AHEAD:]:
                floor = max(floor, self._moves(s, window, time_s, floor, land) - c.BEAM)
        if land:
            self._land(land, played, time_s, pitch, bit)

    def _moves(
        self, s: int, window: bytes, time_s: float, floor: float, land: dict[int, tuple[float, int, int, float]]
    ) -> float:
        """Offer every way on from one state to ``land``; returns the best worth offered."""
        value, quarter, known, pace = self.value, self.lane.quarter, self.times[s] > 0, self.pace[s]
        v, top = value[s] - self.unheard[s], floor
        waited, here = max(time_s - self.first[s], _SHORTEST_S), quarter[s]
        passed = self.lane.passed
        paid = passed[s]
        for k in range(_AHEAD, WINDOW):
            code = window[k]
            if code:
                o = s + k - HERE
                worth = v + GAIN[code] + paid - passed[o - 1]
                least = land[o][0] if o in land else floor
                if worth <= least or worth <= value[o]:
                    continue
                raw = math.log(waited / (quarter[o] - here)) - pace
                strain = c.TEMPO_WEIGHT * (abs(raw) - c.TEMPO_FREE)
                if known and strain > 0.0:
                    worth -= strain if strain < c.TEMPO_MOST else c.TEMPO_MOST
                if worth > least and worth > value[o]:
                    land[o] = (worth, s, code, raw)
                    top = max(top, worth)
        return top

    def _stay(self, s: int, window: bytes, bit: int, waited: float) -> tuple[float, int] | None:
        """Gain and kind of staying: joining the chord, or coming late for an onset just passed; None if neither."""
        here, one_before, two_before = self.heard[s]
        cost = min(c.STAY_PER_S * waited, c.STAY_MOST)
        if window[HERE] == EXACT and not here & bit:
            return c.RIGHT - cost, EXACT
        if waited < c.LATE_WITHIN_S:
            if window[HERE - 1] == EXACT and not one_before & bit:
                return c.LATE - cost, LATE
            if window[HERE - 2] == EXACT and not two_before & bit:
                return c.LATE - cost, LATE + 1
        return None

    def _land(
        self, land: dict[int, tuple[float, int, int, float]], played: int, time_s: float, pitch: int, bit: int
    ) -> None:
        """Write the new states; all are worked out before any is written, for one may come from another."""
        rows = [(o, worth, *self._carried(o, s, kind, raw, time_s, bit), self.last[s], kind)
                for o, (worth, s, kind, raw) in land.items()]  # fmt: skip
        active = self.active
        for o, worth, first, pace, times, unheard, heard, before, kind in rows:
            if o not in active:
                active.append(o)
            self.value[o], self.first[o], self.pace[o], self.times[o] = worth, first, pace, times
            self.unheard[o], self.heard[o], self.last[o] = unheard, heard, len(self.log)
            self.log.append((played, o, pitch, kind, MOVED, before))
        for o, worth, *_ in rows:
            if worth > self.best:
                self.best, self.best_state, self.best_time = worth, o, time_s

    def _carried(
        self, o: int, s: int, kind: int, raw: float, time_s: float, bit: int
    ) -> tuple[float, float, int, float, tuple[int, int, int]]:
        """What a new state carries: first heard, pace, times learnt, price of the unheard, what was heard."""
        here, one_before, two_before = self.heard[s]
        pace, times = self.pace[s], self.times[s]
        if o == s:
            first = self.first[s] if here or kind >= LATE else time_s
            marks = (bit if kind == EXACT else 0, bit if kind == LATE else 0, bit if kind > LATE else 0)
            heard = (here | marks[0], one_before | marks[1], two_before | marks[2])
            return first, pace, times, self.unheard[s] - (c.UNHEARD if kind == EXACT else 0.0), heard
        most = c.TEMPO_CLIP if times else c.TEMPO_FIRST_CLIP
        pace += max(c.TEMPO_LEARN, 1.0 / (times + 1.0)) * min(max(raw, -most), most)
        mark, step = (bit if kind == EXACT else 0), o - s
        heard = (mark, here if step == 1 else 0, one_before if step == 1 else here if step == 2 else 0)
        return time_s, pace, times + 1, self.lane.unheard[o] - (c.UNHEARD if mark else 0.0), heard

    def _landings(self, played: int, time_s: float, pitch: int, leave: Leave) -> Landings:
        early = self.presses <= c.START_WITHIN or leave.value < c.BEAM + c.RIGHT
        floor = self.best - c.BEAM
        return landings(self.lane, played, time_s, pitch, leave, floor=floor, jumps=self.jumps, starts=early)

    def _confirm(self, pitch: int, only: list[Landings] | None = None) -> list[int]:
        """Make states of the landings where this press fits too; returns them."""
        out = []
        for w in self.waiting if only is None else only:
            fits = self.lane.goes_on(pitch)[w.state]
            for o, value, how in zip(w.state[fits].tolist(), w.value[fits].tolist(), w.how[fits].tolist(), strict=True):
                if value > self.value[o] and value > self.best - c.BEAM:
                    self._arrive(w, o, value, how)
                    out.append(o)
        return out

    def _arrive(self, w: Landings, o: int, value: float, how: int) -> None:
        started = how == STARTED
        if o not in self.active:
            self.active.append(o)
        self.value[o], self.first[o] = value, w.time
        self.pace[o], self.times[o] = (self.log_pace, 0) if started else (w.leave.pace, w.leave.times)
        self.unheard[o] = self.lane.unheard[o] - c.UNHEARD
        self.heard[o] = (1 << w.pitch % _BITS, -1, -1)
        self.last[o] = len(self.log)
        self.log.append((w.played, o, w.pitch, EXACT, how, -1 if started else w.leave.log_row))
        if value > self.best:
            self.best, self.best_state, self.best_time = value, o, w.time

    def path(self) -> npt.NDArray[np.void]:
        """The best path, in the order played."""
        rows = self._back(len(self.log))
        out = np.zeros(len(rows), Step)
        for i, (played, state, pitch, kind, how, _) in enumerate(reversed(rows)):
            out[i] = (played, state, self._note(state, pitch, kind), kind, how)
        return out

    def tail(self, steps: int) -> list[tuple[int, int]]:
        """The last steps of the best path, newest first: (press, row of the target)."""
        return [(row[0], self._note(row[1], row[2], row[3])) for row in self._back(steps)]

    def _back(self, most: int) -> list[tuple[int, int, int, int, int, int]]:
        at = self.last[self.best_state] if self.best_state >= 0 else -1
        rows: list[tuple[int, int, int, int, int, int]] = []
        while at >= 0 and len(rows) < most:
            rows.append(self.log[at])
            at = self.log[at][5]
        return rows

    def _note(self, state: int, pitch: int, kind: int) -> int:
        return self.lane.row(state - max(kind - LATE + 1, 0), pitch)
