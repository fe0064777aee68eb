"""The sweep once more, for a compiler: where only the best state is moved on.

See `kernel_types`.
"""

from __future__ import annotations

import math

import numpy as np

from keysense.following.kernel_moves import offer, write
from keysense.following.kernel_types import (
    ACTIVE,
    BEST,
    BEST_STATE,
    BEST_TIME,
    EXACT,
    HERE,
    LATE,
    LISTED,
    NEVER,
    SHORTEST_S,
    Array,
    Land,
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
    return Trail(np.empty((p.sure_back, 7), np.int64), np.empty((p.sure_back, 5)), np.zeros(1, np.int64))


@inlined
def one_place(p: Prices, st: States, w: Waiting, log: Array) -> bool:
    """`Sweep._one_place`."""
    first, last, as_well = st.active[0], st.active[0], 0
    press = log[st.row[st.counts[BEST_STATE]], 0]
    for k in range(st.counts[ACTIVE]):
        s = st.active[k]
        first, last, row = min(first, s), max(last, s), log[st.row[s]]
        as_well += row[0] >= press and (row[2] == EXACT or row[2] >= LATE)
    return bool(not w.used[0] and last - first <= p.reach and as_well == 1)


@inlined
def way_on(p: Prices, lane: Lanes, st: States, land: Land, time: float, key: int, bit: int) -> int:
    """`Sweep._way_on`; returns how many ways, one or none."""
    s = st.counts[BEST_STATE]
    waited, gain, o, surprise = time - st.first[s], NEVER, s, 0.0
    if lane.codes[key, s + HERE] == EXACT and not st.here[s] & bit:
        gain = p.gain[EXACT] - min(p.stay_per_s * waited, p.stay_most)
    if lane.codes[key, s + HERE + 1] == EXACT and gain < p.gain[EXACT] - st.unheard[s]:
        raw = math.log(max(waited, SHORTEST_S) / (lane.quarter[s + 1] - lane.quarter[s])) - st.pace[s]
        strain = p.tempo_weight * (abs(raw) - p.tempo_free)
        on = p.gain[EXACT] - st.unheard[s] - (min(strain, p.tempo_most) if st.times[s] and strain > 0.0 else 0.0)
        if on > gain:
            gain, o, surprise = on, s + 1, raw
    if gain < p.taken_well:
        return 0
    return offer(st, land, 0, o, s, EXACT, st.now[BEST] + gain, surprise)


@inlined
def remember(st: States, trail: Trail, press: int) -> None:
    """Put the best state on the trail, and the earliest off it where that is full."""
    n = trail.used[0]
    if n == len(trail.whole):
        for k in range(n - 1):
            trail.whole[k] = trail.whole[k + 1]
            trail.real[k] = trail.real[k + 1]
        n -= 1
    s, whole, real = st.counts[BEST_STATE], trail.whole[n], trail.real[n]
    whole[0], whole[1], whole[2], whole[3] = s, st.times[s], st.here[s], st.one[s]
    whole[4], whole[5], whole[6] = st.two[s], st.row[s], press
    real[0], real[1], real[2] = st.now[BEST], st.first[s], st.pace[s]
    real[3], real[4] = st.unheard[s], st.now[BEST_TIME]
    trail.used[0] = n + 1


@inner
def go_on(
    p: Prices,
    lane: Lanes,
    st: States,
    land: Land,
    trail: Trail,
    log: Array,
    press: int,
    time: float,
    key: int,
    bit: int,
) -> bool:
    """`Sweep._sure`, without the going back."""
    if not way_on(p, lane, st, land, time, key, bit):
        return False
    s = st.counts[BEST_STATE]
    if not trail.used[0]:
        for k in range(st.counts[ACTIVE]):
            if st.active[k] != s:
                st.value[st.active[k]] = NEVER
    remember(st, trail, press)
    write(p, lane, st, land, 1, log, press, time, bit)
    if st.counts[BEST_STATE] != s:
        st.value[s] = NEVER
    st.active[0], st.counts[ACTIVE] = st.counts[BEST_STATE], 1
    return True


@inner
def go_back(p: Prices, st: States, trail: Trail) -> int:
    """Be where the first press of the trail was heard; returns how many are to be weighed after all."""
    n, trail.used[0] = trail.used[0], 0
    if n:
        st.value[st.counts[BEST_STATE]] = NEVER
        whole, real = trail.whole[0], trail.real[0]
        s = whole[0]
        st.times[s], st.here[s], st.one[s], st.two[s], st.row[s] = whole[1], whole[2], whole[3], whole[4], whole[5]
        st.value[s], st.first[s], st.pace[s], st.unheard[s] = real[0], real[1], real[2], real[3]
        st.now[BEST], st.now[BEST_TIME], st.counts[BEST_STATE] = real[0], real[4], s
        st.active[0], st.counts[ACTIVE], st.now[LISTED] = s, 1, real[0] - p.beam
    return int(n)
