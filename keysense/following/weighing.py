"""Every way on from every living state: one step of the Viterbi sweep over "which onset was heard last".

Model
    Every key press either is taken at an onset (see `lane`) or fits nowhere. One that fits nowhere costs nothing and
    leaves every state alive, so staying put always competes with moving and with jumping. A state carries its value,
    when its onset was first heard, the running seconds a quarter (as a logarithm), how often that was learnt, and
    which notes of its chord and of the two onsets before have been heard.
    A press may stay in the chord (dearer the later it comes), move on by up to `REACH` onsets (each one passed over
    and each chord note left unheard costs), come late for an onset just passed, jump from the best state to any place
    where its pitch is written, or be the start. Moving on is dearer the further the time taken is from the running
    tempo, but never more than `TEMPO_MOST`: a wait is no reason to lose the place. At the end of a written repeat, to
    go on as if this had been its last time is moving on too, for `LEFT_OUT`.

Sparing time
    Only states within `BEAM` of the best are moved on. Jumps are weighed only where the best state could not take a
    press well, for that press and the one before it; and a landing becomes a state only when one of the two presses
    that follow fits there too, for a jump of a single note never pays. All of it is plain scalars: an array costs more
    to call than the handful of living states cost to walk over. The best value never falls, so what lies `BEAM` below
    it is out of the running for good, wherever it is kept. `fast` has the same sweep for a compiler.
"""

from __future__ import annotations

import math

from keysense.following import constants as c
from keysense.following.jumping import LEFT_OUT, MOVED, STARTED, Carried, Landings, Leave, Row, landings
from keysense.following.lane import EXACT, HERE, LATE, SEEN, WINDOW, Lane

__all__ = ["BITS", "NEVER", "SHORTEST_S", "Carried", "Land", "Row", "Weighing"]

Land = dict[int, tuple[float, int, int, float, Carried]]  # onset -> worth, state it comes from, kind, surprise, carried

NEVER = -1e9
SHORTEST_S = 0.005
BITS = 61  # a chord's keys are told apart by their remainder: fits any word, and keys so far apart share no chord
_NOWHERE: Carried = (0.0, 0.0, 0, 0.0, 0, 0, 0, (-1, -1, -1, 0, MOVED, None))


class Weighing:
    """The states of one reading, and what a press does to them."""

    def __init__(self, lane: Lane, log_pace: float, *, jumps: bool = True) -> None:
        self.lane, self.jumps, self.log_pace = lane, jumps, log_pace
        self.value = [NEVER] * lane.size
        self.carried: list[Carried] = [_NOWHERE] * lane.size
        self.active: list[int] = []
        self.listed = 0.0  # a state is in ``active`` if its value is above this
        self.best, self.best_state, self.best_time = 0.0, -1, 0.0
        self.presses, self.well = 0, 0  # heard; and taken well, one after the other
        self.waiting: list[Landings] = []
        self.previous: tuple[int, float, int, Leave] | None = None  # a press that was not weighed for jumps yet

    def weigh(self, played: int, time_s: float, pitch: int) -> None:
        """Move every state on by one press, and where it is not taken well look for jumps."""
        leave, before = self._leave(), self.best
        if self.waiting:
            self.waiting = [w for w in self.waiting if w.top > before - c.BEAM]
            self._confirm(pitch, self.waiting)
        value = self.value
        self.listed = listed = self.best - c.BEAM
        self.active = [s for s in self.active if value[s] > listed]
        self._advance(self.active, played, time_s, pitch)
        if self.best - before >= c.TAKEN_WELL and self.presses > c.START_SURELY_WITHIN:
            self.previous = (played, time_s, pitch, leave)
            self.well += 1
            return
        self.well = 0
        if self.previous is not None:
            self.waiting.append(self._landings(*self.previous))
            self._advance(self._confirm(pitch, self.waiting[-1:]), played, time_s, pitch)
            self.previous = None
        self.waiting.append(self._landings(played, time_s, pitch, leave))
        self.waiting = [w for w in self.waiting if w.places and w.played > played - c.CONFIRM_WITHIN]

    def _leave(self) -> Leave:
        at = self.best_state
        return self.best, at, self.best_time, self.carried[at] if at >= 0 else _NOWHERE

    def _advance(self, states: list[int], played: int, time_s: float, pitch: int) -> None:
        """Move states on by one press: every way each could take it, the best way into each state kept."""
        codes, peak, bit = self.lane.codes(pitch), self.best, 1 << pitch % BITS
        floor = peak - c.BEAM
        value, carried, quarter, passed = self.value, self.carried, self.lane.quarter, self.lane.passed
        land: Land = {}
        for s in sorted(states, key=value.__getitem__, reverse=True):  # the best raise the floor for the rest
            worth = value[s]
            if worth + c.RIGHT <= floor:
                break
            window = SEEN[codes[s : s + WINDOW]]
            if window is None:
                continue
            behind, ahead = window
            own = carried[s]
            first, pace, times, unheard, heard, heard_before, heard_two_before, _ = own
            waited = time_s - first
            if behind is not None:
                two_before, before, here = behind
                if here == EXACT and not heard & bit:
                    gain, kind = c.RIGHT, EXACT
                elif waited < c.LATE_WITHIN_S and before == EXACT and not heard_before & bit:
                    gain, kind = c.LATE, LATE
                elif waited < c.LATE_WITHIN_S and two_before == EXACT and not heard_two_before & bit:
                    gain, kind = c.LATE, LATE + 1
                else:
                    gain, kind = NEVER, 0
                cost = c.STAY_PER_S * waited
                into = worth + (gain - (cost if cost < c.STAY_MOST else c.STAY_MOST))
                if into > (land[s][0] if s in land else floor):
                    land[s] = (into, s, kind, 0.0, own)
                    if into > peak:
                        peak, floor = into, into - c.BEAM
            if ahead is None:
                continue
            worth -= unheard
            ways, most = ahead
            if worth + most <= floor:
                continue
            at, paid = quarter[s], passed[s]
            waited = waited if waited > SHORTEST_S else SHORTEST_S
            for step, code, right in ways:
                o = s + step
                into = worth + right + paid - passed[o - 1]
                if into <= floor or into <= value[o] or (o in land and into <= land[o][0]):
                    continue
                raw = math.log(waited / (quarter[o] - at)) - pace
                strain = c.TEMPO_WEIGHT * ((raw if raw > 0.0 else -raw) - c.TEMPO_FREE)
                if times and strain > 0.0:
                    into -= strain if strain < c.TEMPO_MOST else c.TEMPO_MOST
                    if into <= floor or into <= value[o] or (o in land and into <= land[o][0]):
                        continue
                land[o] = (into, s, code, raw, own)
                if into > peak:
                    peak = into
            floor = peak - c.BEAM
        if self.lane.repeats:
            floor = self._leave_out_repeats(states, codes, time_s, land, floor)
        if land:
            self._land(land, floor, played, time_s, pitch, bit)

    def _leave_out_repeats(self, states: list[int], codes: bytes, time_s: float, land: Land, floor: float) -> float:
        """Ways on from the end of a first time as if it had been the last; returns the floor."""
        repeats, value, quarter, passed = self.lane.repeats, self.value, self.lane.quarter, self.lane.passed
        for s in states:
            if s not in repeats:
                continue
            again, nearest = repeats[s]
            own = self.carried[s]
            waited, pace, times = max(time_s - own[0], SHORTEST_S), own[1], own[2]
            worth = value[s] + c.RIGHT - c.LEFT_OUT - own[3]
            for o in range(again + nearest, min(again + c.REACH + 1, len(quarter))):
                if codes[o + HERE] != EXACT:
                    continue
                raw = math.log(waited / (quarter[o] - quarter[again])) - pace
                strain = c.TEMPO_WEIGHT * (abs(raw) - c.TEMPO_FREE)
                into = worth + passed[again] - passed[o - 1]
                into -= min(strain, c.TEMPO_MOST) if times and strain > 0.0 else 0.0
                if into > max(floor, value[o], land[o][0] if o in land else NEVER):
                    land[o] = (into, s, EXACT, raw, own)
                    floor = max(floor, into - c.BEAM)
        return floor

    def _land(self, land: Land, floor: float, played: int, time_s: float, pitch: int, bit: int) -> None:
        """Write the new states above the floor: none that is out of the running already."""
        value, carried, best = self.value, self.carried, self.best
        for o, (worth, s, kind, raw, (first, pace, times, unheard, here, one, two, before)) in land.items():
            if worth <= floor:
                continue
            mark, how = bit if kind == EXACT else 0, MOVED
            if o == s:
                first = first if here or kind >= LATE else time_s
                here, one, two = here | mark, one | bit if kind == LATE else one, two | bit if kind > LATE else two
                unheard = unheard - c.UNHEARD if mark else unheard
            else:
                most = c.TEMPO_CLIP if times else c.TEMPO_FIRST_CLIP
                times += 1
                learn = 1.0 / times
                raw = most if raw > most else -most if raw < -most else raw
                pace += (learn if learn > c.TEMPO_LEARN else c.TEMPO_LEARN) * raw
                first, step = time_s, o - s
                how = MOVED if step <= c.REACH else LEFT_OUT
                here, one, two = mark, here if step == 1 else 0, one if step == 1 else here if step == 2 else 0
                unheard = self.lane.unheard[o] - (c.UNHEARD if mark else 0.0)
            if value[o] <= self.listed:
                self.active.append(o)
            row = (played, o, pitch, kind, how, before)
            value[o], carried[o] = worth, (first, pace, times, unheard, here, one, two, row)
            if worth > best:
                best = worth
                self.best, self.best_state, self.best_time = worth, o, time_s

    def _landings(self, played: int, time_s: float, pitch: int, leave: Leave) -> Landings:
        early = self.presses <= c.START_WITHIN or leave[0] < c.BEAM + c.RIGHT
        floor = self.best - c.BEAM
        return landings(self.lane, played, time_s, pitch, leave, floor=floor, jumps=self.jumps, starts=early)

    def _confirm(self, pitch: int, waiting: list[Landings]) -> list[int]:
        """Make states of the landings where this press fits too; returns them."""
        out, codes, known, floor = [], self.lane.codes(pitch), self.value, self.best - c.BEAM
        for w in waiting:
            for o, value, how in w.places:
                if value > floor and value > known[o] and codes.find(EXACT, o + HERE, o + WINDOW) >= 0:
                    self._arrive(w, o, value, how)
                    floor = self.best - c.BEAM
                    out.append(o)
        return out

    def _arrive(self, w: Landings, o: int, value: float, how: int) -> None:
        _, pace, times, *_, left = w.leave[3]
        before: Row | None = left
        if how == STARTED:
            pace, times, before = self.log_pace, 0, None
        if self.value[o] <= self.listed:
            self.active.append(o)
        unheard = self.lane.unheard[o] - c.UNHEARD
        self.value[o] = value
        row = (w.played, o, w.pitch, EXACT, how, before)
        self.carried[o] = (w.time, pace, times, unheard, 1 << w.pitch % BITS, -1, -1, row)
        if value > self.best:
            self.best, self.best_state, self.best_time = value, o, w.time
