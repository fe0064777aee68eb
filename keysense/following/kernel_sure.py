"""The sweep once more, for a compiler: where the best state goes on alone.

See `kernel_types`.
"""

from __future__ import annotations

import math

import numpy as np

from keysense.following.kernel_moves import log_row
from keysense.following.kernel_types import (
    ACTIVE,
    BEST,
    BEST_STATE,
    BEST_TIME,
    BIT,
    BITS,
    EXACT,
    FOUND,
    HERE,
    LATE,
    LET_GO,
    LISTED,
    LOGGED,
    MOVED,
    NEVER,
    SHORTEST_S,
    USED,
    Array,
    Lanes,
    Prices,
    States,
    Trail,
    Waiting,
    inlined,
    inner,
)

__all__: list[str] = []


@inner
def no_trail(p: Prices) -> Trail:
    """No press that the best state alone took."""
    most = max(p.put_off, p.sure_back) + 1
    return Trail(np.empty((most, 7), np.int64), np.empty((most, 5)), np.zeros(2, np.int64))


@inlined
def carries(st: States, trail: Trail) -> int:
    """Where it is written what the best state carries."""
    return len(st.value) - 1 if trail.now[USED] else st.counts[BEST_STATE]


@inlined
def way_on(p: Prices, lane: Lanes, st: States, at: int, time: float, key: int, bit: int) -> tuple[float, int, float]:
    """`Sure._way_on`: the gain, below `taken_well` for none."""
    s = st.counts[BEST_STATE]
    waited, gain, o, raw = time - st.first[at], NEVER, s, 0.0
    if lane.codes[key, s + HERE] == EXACT and not st.here[at] & bit:
        gain = p.gain[EXACT] - min(p.stay_per_s * waited, p.stay_most)
    on = p.gain[EXACT] - st.unheard[at]
    if lane.codes[key, s + HERE + 1] == EXACT and gain < on:
        surprise = math.log(max(waited, SHORTEST_S) / (lane.quarter[s + 1] - lane.quarter[s])) - st.pace[at]
        strain = p.tempo_weight * (abs(surprise) - p.tempo_free)
        if st.times[at] and strain > 0.0:
            if lane.codes[key, s + HERE + 2] == EXACT:
                return NEVER, s, 0.0
            on -= min(strain, p.tempo_most)
        if on > gain:
            gain, o, raw = on, s + 1, surprise
    return gain, o, raw


@inlined
def remember(st: States, trail: Trail, at: int, press: int) -> None:
    """Put the best state on the trail."""
    n = trail.now[USED]
    whole, real = trail.whole[n], trail.real[n]
    whole[0], whole[1], whole[2], whole[3] = st.counts[BEST_STATE], st.times[at], st.here[at], st.one[at]
    whole[4], whole[5], whole[6] = st.two[at], st.row[at], press
    real[0], real[1], real[2] = st.now[BEST], st.first[at], st.pace[at]
    real[3], real[4] = st.unheard[at], st.now[BEST_TIME]
    trail.now[USED] = n + 1


@inlined
def forget(trail: Trail) -> None:
    """Take the earliest press off the trail."""
    trail.now[USED] -= 1
    for k in range(trail.now[USED]):
        trail.whole[k] = trail.whole[k + 1]
        trail.real[k] = trail.real[k + 1]


@inlined
def run(p: Prices, lane: Lanes, st: States, at: int, o: int, raw: float, time: float, bit: int) -> None:
    """What the best state carries, once it has taken a press: written behind the others."""
    to, s = len(st.value) - 1, st.counts[BEST_STATE]
    here, one, two, times = st.here[at], st.one[at], st.two[at], st.times[at]
    if o == s:
        st.first[to], st.pace[to], st.times[to] = st.first[at] if here else time, st.pace[at], times
        st.unheard[to] = st.unheard[at] - p.unheard
        st.here[to], st.one[to], st.two[to] = here | bit, one, two
    else:
        most = p.tempo_clip if times else p.tempo_first_clip
        st.pace[to] = st.pace[at] + max(1.0 / (times + 1), p.tempo_learn) * min(max(raw, -most), most)
        st.first[to], st.times[to], st.unheard[to] = time, times + 1, lane.unheard[o] - p.unheard
        st.here[to], st.one[to], st.two[to] = bit, here, one


@inner
def go_on(
    p: Prices, lane: Lanes, st: States, trail: Trail, w: Waiting, log: Array, time_s: Array, pitch: Array, press: int
) -> bool:
    """`Sure.goes_on`, without the going back."""
    time, key = time_s[press], pitch[press]
    bit, at = 1 << key % BITS, carries(st, trail)
    gain, o, raw = way_on(p, lane, st, at, time, key, bit)
    if gain < p.taken_well:
        return False
    if trail.now[USED] == p.put_off and not trail.now[LET_GO] and not let_go(p, lane, st, trail, w, log, pitch):
        return False
    remember(st, trail, at, press)
    if trail.now[LET_GO] and trail.now[USED] > p.sure_back:
        forget(trail)
    before = st.row[at]
    run(p, lane, st, at, o, raw, time, bit)
    st.row[len(st.value) - 1] = st.counts[LOGGED]
    log_row(log, st, press, o, EXACT, MOVED, before)
    st.now[BEST] += gain
    st.now[BEST_TIME], st.counts[BEST_STATE] = time, o
    return True


@inner
def keeps_up(p: Prices, lane: Lanes, st: States, trail: Trail, pitch: Array, o: int, worth: float, heard: int) -> bool:
    """`Sure._keeps_up`."""
    used = trail.now[USED]
    for k in range(used):
        key = pitch[trail.whole[k, 6]]
        codes, bit = lane.codes[key], 1 << key % BITS
        if codes[o + HERE] == EXACT and not heard & bit:
            heard, worth = heard | bit, worth + p.gain[EXACT]
        else:
            for step in range(1, p.reach + 1):
                if codes[o + HERE + step] == EXACT:
                    o, heard, worth = o + step, bit, worth + p.gain[EXACT]
                    break
        if o == (trail.whole[k + 1, 0] if k + 1 < used else st.counts[BEST_STATE]):
            return bool(worth > (trail.real[k + 1, 0] if k + 1 < used else st.now[BEST]))
    return bool(worth > st.now[BEST] - p.beam)


@inner
def let_go(p: Prices, lane: Lanes, st: States, trail: Trail, w: Waiting, log: Array, pitch: Array) -> bool:
    """`Sure._let_go`."""
    s, floor, last = trail.whole[0, 0], trail.real[0, 0] - p.beam, log[trail.whole[0, 5], 0]
    for k in range(st.counts[ACTIVE]):
        o = st.active[k]
        row = log[st.row[o]]
        as_well = row[0] >= last and (row[2] == EXACT or row[2] >= LATE)
        if o == s or st.value[o] <= floor or not (as_well or abs(o - s) > p.reach):
            continue
        if keeps_up(p, lane, st, trail, pitch, o, st.value[o], st.here[o]):
            return False
    for i in range(w.used[0]):
        slot = w.slots[i]
        for k in range(w.whole[slot, FOUND]):
            o, worth = w.place[slot, k, 0], w.value[slot, k]
            if worth <= floor or abs(o - s) <= p.reach:
                continue
            if keeps_up(p, lane, st, trail, pitch, o, worth, w.whole[slot, BIT]):
                return False
    for k in range(st.counts[ACTIVE]):
        st.value[st.active[k]] = NEVER
    st.counts[ACTIVE], w.used[0], trail.now[LET_GO] = 0, 0, 1
    return True


@inner
def only_way(p: Prices, lane: Lanes, trail: Trail, pitch: Array) -> int:
    """`Sure._only_way`."""
    last = trail.now[USED] - 1
    for k in range(last):
        codes, s, o = lane.codes[pitch[trail.whole[k, 6]]], trail.whole[k, 0], trail.whole[k + 1, 0]
        if o > s and codes[s + HERE] == EXACT:
            return k
        for at in range(o + HERE + 1, s + HERE + p.reach + 1):
            if codes[at] == EXACT:
                return k
    return int(last)


@inner
def go_back(p: Prices, lane: Lanes, st: States, trail: Trail, pitch: Array) -> tuple[int, int]:
    """Be where the first press of the trail was heard; returns which of it are to be weighed after all."""
    first, end = 0, trail.now[USED]
    if not end:
        return 0, 0
    if trail.now[LET_GO]:
        first = only_way(p, lane, trail, pitch)
        whole, real = trail.whole[first], trail.real[first]
        s = whole[0]
        st.times[s], st.here[s], st.one[s], st.two[s], st.row[s] = whole[1], whole[2], whole[3], whole[4], whole[5]
        st.value[s], st.first[s], st.pace[s], st.unheard[s] = real[0], real[1], real[2], real[3]
        st.active[0], st.counts[ACTIVE], st.now[LISTED] = s, 1, real[0] - p.beam
    real = trail.real[first]
    st.now[BEST], st.now[BEST_TIME], st.counts[BEST_STATE] = real[0], real[4], trail.whole[first, 0]
    trail.now[USED], trail.now[LET_GO] = 0, 0
    return first, end
