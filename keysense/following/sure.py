"""While all goes well at one place there is little to weigh: the best state goes on alone.

A press that the best state takes well, in its chord or as the onset after it, is heard by that state alone; the others
are put off where they are. After `PUT_OFF` such presses it is asked whether any of them could still be in the running,
if all that is written near it had fitted: mostly none could, and they are let go. Else, and at the first press that the
best state cannot take well, the presses that were put off are weighed after all, as if nothing had been.

Once alone, the best state keeps its last `SURE_BACK` presses. At the first that it cannot take well these are weighed
after all: whatever differs from the best path only there, a skip or a slip just before, is in the running again. What
was behind for longer would have needed more luck than a jump.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterator
from itertools import islice, pairwise

from keysense.following import constants as c
from keysense.following.jumping import MOVED, Carried
from keysense.following.lane import EXACT, HERE, LATE, WINDOW, Lane
from keysense.following.weighing import BITS, NEVER, SHORTEST_S, Weighing

__all__ = ["Before", "Sure"]

Before = tuple[int, float, Carried, float, int, float, int]
"""The best state before a press: which, its value, what it carried, its time; then the press: number, time, key."""
Way = tuple[float, int, float]
"""How a press is taken: what that is worth, the state it leads to, how far it was from the running tempo."""


class Sure(Weighing):
    """The states of one reading; the best one goes on alone where it can."""

    def __init__(self, lane: Lane, log_pace: float, *, jumps: bool = True) -> None:
        super().__init__(lane, log_pace, jumps=jumps)
        self.trail: deque[Before] = deque()  # the presses that the best state alone has heard
        self.runner: Carried | None = None  # what it carries by now
        self.let_go = False  # whether the others are out of the running

    def carries(self) -> Carried:
        """What the best state carries."""
        return self.carried[self.best_state] if self.runner is None else self.runner

    def goes_on(self, played: int, time_s: float, pitch: int) -> bool:
        """Move the best state alone on, if it takes the press well; else nothing is put off any more."""
        trail, s, own = self.trail, self.best_state, self.carries()
        way = self._way_on(own, time_s, pitch)
        if way is None or (len(trail) == c.PUT_OFF and not self.let_go and not self._let_go()):
            self._go_back()
            return False
        trail.append((s, self.best, own, self.best_time, played, time_s, pitch))
        if self.let_go and len(trail) > c.SURE_BACK:
            trail.popleft()
        gain, o, raw = way
        first, pace, times, unheard, heard, one, two, before = own
        row, bit = (played, o, pitch, EXACT, MOVED, before), 1 << pitch % BITS
        if o == s:
            first = first if heard else time_s
            self.runner = first, pace, times, unheard - c.UNHEARD, heard | bit, one, two, row
        else:
            pace += learnt(raw, times)
            self.runner = time_s, pace, times + 1, self.lane.unheard[o] - c.UNHEARD, bit, heard, one, row
        self.best += gain
        self.best_state, self.best_time = o, time_s
        return True

    def _way_on(self, own: Carried, time_s: float, pitch: int) -> Way | None:
        """How the best state takes a press: in its chord or as the next onset, if that is to take it well."""
        s, lane = self.best_state, self.lane
        codes, (first, pace, times, unheard, heard, *_) = lane.codes(pitch), own
        waited, gain, o, raw = time_s - first, NEVER, s, 0.0
        if codes[s + HERE] == EXACT and not heard & 1 << pitch % BITS:
            gain = c.RIGHT - min(c.STAY_PER_S * waited, c.STAY_MOST)
        on = c.RIGHT - unheard
        if codes[s + HERE + 1] == EXACT and gain < on:
            surprise = math.log(max(waited, SHORTEST_S) / (lane.quarter[s + 1] - lane.quarter[s])) - pace
            strain = c.TEMPO_WEIGHT * (abs(surprise) - c.TEMPO_FREE)
            if times and strain > 0.0:
                if codes[s + HERE + 2] == EXACT:
                    return None  # of notes repeated one may have been left out
                on -= strain if strain < c.TEMPO_MOST else c.TEMPO_MOST
            if on > gain:
                gain, o, raw = on, s + 1, surprise
        return (gain, o, raw) if gain >= c.TAKEN_WELL else None

    def _let_go(self) -> bool:
        """Whether what was put off is out of the running by now; then it is gone."""
        if any(self._keeps_up(*other) for other in self._put_off()):
            return False
        for o in self.active:
            self.value[o] = NEVER
        self.active, self.waiting, self.let_go = [], [], True
        return True

    def _put_off(self) -> Iterator[tuple[int, float, int]]:
        """What may be elsewhere, each with its value and what was heard there: landings, and states that are far from
        the best one or took the last press before as it is written too."""
        s, best, carried, *_ = self.trail[0]
        floor, last = best - c.BEAM, carried[-1][0]
        for o in self.active:
            *_, heard, _, _, (played, _, _, kind, *_) = self.carried[o]
            as_well = played >= last and (kind == EXACT or kind >= LATE)
            if o != s and self.value[o] > floor and (as_well or abs(o - s) > c.REACH):
                yield o, self.value[o], heard
        for w in self.waiting:
            heard = 1 << w.pitch % BITS
            yield from ((o, worth, heard) for o, worth, _ in w.places if worth > floor and abs(o - s) > c.REACH)

    def _keeps_up(self, o: int, worth: float, heard: int) -> bool:
        """Whether another place would be in the running still, had it taken all that is written there, and would not
        have become the place of the best one, which is worth more."""
        after = [*((state, best) for state, best, *_ in islice(self.trail, 1, None)), (self.best_state, self.best)]
        for before, (best_state, best) in zip(self.trail, after, strict=True):
            codes, bit = self.lane.codes(before[-1]), 1 << before[-1] % BITS
            if codes[o + HERE] == EXACT and not heard & bit:
                heard, worth = heard | bit, worth + c.RIGHT
            elif (at := codes.find(EXACT, o + HERE + 1, o + WINDOW)) >= 0:
                o, heard, worth = at - HERE, bit, worth + c.RIGHT
            if o == best_state:
                return worth > best
        return worth > self.best - c.BEAM

    def _go_back(self) -> None:
        """Weigh the presses of the trail after all, from the states that were before the first of them."""
        trail = [*self.trail]
        if not trail:
            return
        s, best, carried, best_time, *_ = trail[0]
        if self.let_go:
            trail = trail[self._only_way(trail) :]
            s, best, carried, best_time, *_ = trail[0]
            self.value[s], self.carried[s], self.active = best, carried, [s]
            self.listed = best - c.BEAM
        self.best, self.best_state, self.best_time = best, s, best_time
        self.runner, self.let_go = None, False
        self.trail.clear()
        for *_, played, time_s, pitch in trail:
            self.weigh(played, time_s, pitch)

    def _only_way(self, trail: list[Before]) -> int:
        """How many of the first presses are written nowhere else within reach: there was nothing else to be done."""
        for k, ((s, *_, pitch), (o, *_)) in enumerate(pairwise(trail)):
            codes = self.lane.codes(pitch)
            if codes.find(EXACT, o + HERE + 1, s + WINDOW) >= 0 or (o > s and codes[s + HERE] == EXACT):
                return k
        return len(trail) - 1


def learnt(raw: float, times: int) -> float:
    """How much the running tempo takes over of a surprise, after it was learnt so often."""
    most = c.TEMPO_CLIP if times else c.TEMPO_FIRST_CLIP
    return max(1.0 / (times + 1), c.TEMPO_LEARN) * min(max(raw, -most), most)
