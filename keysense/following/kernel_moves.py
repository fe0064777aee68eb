"""The sweep once more, for a compiler: moving on.

See `kernel_types`.
"""

from __future__ import annotations

import math

import numpy as np

from keysense.following.kernel_types import (
    ACTIVE,
    BESIDE,
    BEST,
    BEST_STATE,
    BEST_TIME,
    EXACT,
    HERE,
    LATE,
    LEFT_OUT,
    LISTED,
    LOGGED,
    MOVED,
    NEVER,
    SHORTEST_S,
    Array,
    Land,
    Lanes,
    Prices,
    States,
    inlined,
    inner,
)

__all__: list[str] = []


@inner
def ordered(states: Array, n: int, value: Array) -> Array:
    """States by value, the greatest first; those alike as they stood."""
    out = states[:n].copy()
    if n > 64:
        return out[np.argsort(-value[out], kind="mergesort")]
    for i in range(1, n):
        s, at = out[i], i
        while at > 0 and value[out[at - 1]] < value[s]:
            out[at] = out[at - 1]
            at -= 1
        out[at] = s
    return out


@inlined
def offer(st: States, land: Land, n: int, o: int, s: int, kind: int, worth: float, raw: float) -> int:
    """Put a way into a state among the new ones; returns how many there are."""
    at = st.land_at[o]
    if at < 0:
        at = n
        st.land_at[o] = n
        land.onset[n] = o
        n += 1
    land.source[at] = s
    land.kind[at] = kind
    land.worth[at] = worth
    land.raw[at] = raw
    return n


@inlined
def carry(p: Prices, lane: Lanes, st: States, land: Land, i: int, time: float, bit: int) -> None:
    """What a new state will carry, worked out before any is written, for one may come from another."""
    o, s, kind = land.onset[i], land.source[i], land.kind[i]
    mark = bit if kind == EXACT else 0
    here, one, two = st.here[s], st.one[s], st.two[s]
    first, pace, times, unheard = st.first[s], st.pace[s], st.times[s], st.unheard[s]
    if o == s:
        if not here and kind < LATE:
            first = time
        here |= mark
        one |= bit if kind == LATE else 0
        two |= bit if kind > LATE else 0
        unheard -= p.unheard if mark else 0.0
    else:
        most = p.tempo_clip if times else p.tempo_first_clip
        times += 1
        pace += max(1.0 / times, p.tempo_learn) * min(max(land.raw[i], -most), most)
        two = here if o - s == 2 else one if o - s == 1 else 0
        one = here if o - s == 1 else 0
        here, first = mark, time
        unheard = lane.unheard[o] - (p.unheard if mark else 0.0)
    land.real[i, 0], land.real[i, 1], land.real[i, 2] = first, pace, unheard
    land.whole[i, 0], land.whole[i, 1], land.whole[i, 2], land.whole[i, 3] = times, here, one, two
    land.whole[i, 4] = st.row[s]


@inlined
def write(
    p: Prices, lane: Lanes, st: States, land: Land, n: int, log: Array, played: int, time: float, bit: int
) -> None:
    """`Weighing._land`."""
    floor = max(land.worth[:n].max(), st.now[BEST]) - p.beam
    for i in range(n):
        carry(p, lane, st, land, i, time, bit)
    for i in range(n):
        o, worth = land.onset[i], land.worth[i]
        st.land_at[o] = -1
        if worth <= floor:
            continue
        place(st, o, worth, land.real[i], land.whole[i])
        how = LEFT_OUT if o - land.source[i] > p.reach else MOVED
        log_row(log, st, played, o, land.kind[i], how, land.whole[i, 4])
        if worth > st.now[BEST]:
            st.now[BEST], st.now[BEST_TIME], st.counts[BEST_STATE] = worth, time, o


@inlined
def place(st: States, o: int, worth: float, real: Array, whole: Array) -> None:
    """Write a state, and list it if it was not."""
    if st.value[o] <= st.now[LISTED]:
        st.active[st.counts[ACTIVE]] = o
        st.counts[ACTIVE] += 1
    st.value[o] = worth
    st.first[o], st.pace[o], st.unheard[o] = real[0], real[1], real[2]
    st.times[o], st.here[o], st.one[o], st.two[o] = whole[0], whole[1], whole[2], whole[3]
    st.row[o] = st.counts[LOGGED]


@inlined
def log_row(log: Array, st: States, played: int, o: int, kind: int, how: int, before: int) -> None:
    """Add a row to the log."""
    row = log[st.counts[LOGGED]]
    row[0], row[1], row[2], row[3], row[4] = played, o, kind, how, before
    st.counts[LOGGED] += 1


@inner
def leave_out_repeats(
    p: Prices, lane: Lanes, st: States, land: Land, n: int, codes: Array, states: Array, floor: float, time: float
) -> int:
    """`Weighing._leave_out_repeats`; returns how many ways there are now."""
    size = len(lane.quarter)
    for s in states:
        again = lane.again[s]
        if again < 0:
            continue
        waited = max(time - st.first[s], SHORTEST_S)
        worth = st.value[s] + p.gain[EXACT] - p.left_out - st.unheard[s]
        for o in range(again + lane.nearest[s], min(again + p.reach + 1, size)):
            if codes[o + HERE] != EXACT:
                continue
            raw = math.log(waited / (lane.quarter[o] - lane.quarter[again])) - st.pace[s]
            strain = p.tempo_weight * (abs(raw) - p.tempo_free)
            into = worth + lane.passed[again] - lane.passed[o - 1]
            into -= min(strain, p.tempo_most) if st.times[s] and strain > 0.0 else 0.0
            least = max(floor, st.value[o])
            if into > (max(least, land.worth[st.land_at[o]]) if st.land_at[o] >= 0 else least):
                n = offer(st, land, n, o, s, EXACT, into, raw)
                floor = max(floor, into - p.beam)
    return n


@inner
def advance(
    p: Prices, lane: Lanes, st: States, land: Land, log: Array, states: Array, played: int, time: float, key: int,
    bit: int,
) -> None:  # fmt: skip
    """`Weighing._advance`."""
    codes, floor, n, right = lane.codes[key], st.now[BEST] - p.beam, 0, p.gain[EXACT]
    for s in ordered(states, len(states), st.value):
        worth = st.value[s]
        if worth + right <= floor:
            break
        waited, top = time - st.first[s], floor
        gain, kind = NEVER, 0
        if codes[s + HERE] == EXACT and not st.here[s] & bit:
            gain, kind = right, EXACT
        elif waited < p.late_within_s and codes[s + HERE - 1] == EXACT and not st.one[s] & bit:
            gain, kind = p.late, LATE
        elif waited < p.late_within_s and codes[s + HERE - 2] == EXACT and not st.two[s] & bit:
            gain, kind = p.late, LATE + 1
        if kind:
            into = worth + (gain - min(p.stay_per_s * waited, p.stay_most))
            if into > (land.worth[st.land_at[s]] if st.land_at[s] >= 0 else floor):
                n = offer(st, land, n, s, s, kind, into, 0.0)
                top = into
                floor = max(floor, top - p.beam)
        most = NEVER
        for k in range(HERE + 1, HERE + 1 + p.reach):
            if codes[s + k] == EXACT or (codes[s + k] and k <= HERE + p.near_reach):
                most = max(most, p.gain[BESIDE], p.gain[codes[s + k]])
        worth -= st.unheard[s]
        if worth + most <= floor:
            continue
        waited = max(waited, SHORTEST_S)
        for k in range(HERE + 1, HERE + 1 + p.reach):
            code = codes[s + k]
            if not code or (code != EXACT and k > HERE + p.near_reach):
                continue
            o = s + k - HERE
            into = worth + p.gain[code] + lane.passed[s] - lane.passed[o - 1]
            least = max(floor, st.value[o])
            if st.land_at[o] >= 0:
                least = max(least, land.worth[st.land_at[o]])
            if into <= least:
                continue
            raw = math.log(waited / (lane.quarter[o] - lane.quarter[s])) - st.pace[s]
            strain = p.tempo_weight * (abs(raw) - p.tempo_free)
            if st.times[s] and strain > 0.0:
                into -= min(strain, p.tempo_most)
                if into <= least:
                    continue
            n = offer(st, land, n, o, s, code, into, raw)
            top = max(top, into)
        floor = max(floor, top - p.beam)
    if len(lane.again):
        n = leave_out_repeats(p, lane, st, land, n, codes, states, floor, time)
    if n:
        write(p, lane, st, land, n, log, played, time, bit)
