"""The sweep once more, for a compiler: landings.

See `kernel_types`.
"""

from __future__ import annotations

import math

import numpy as np

from keysense.following.kernel_moves import log_row, place
from keysense.following.kernel_types import (
    BEST,
    BEST_STATE,
    BEST_TIME,
    BIT,
    EXACT,
    FOUND,
    HERE,
    HOPPED,
    JUMPED,
    NEVER,
    PACE,
    PRESS,
    ROW,
    STARTED,
    TIME,
    TIMES,
    TOP,
    Array,
    Lanes,
    Leave,
    Prices,
    States,
    Waiting,
    inlined,
    inner,
)

__all__: list[str] = []


@inner
def leave_now(st: States, log_pace: float) -> Leave:
    """What a jump would leave."""
    at = st.counts[BEST_STATE]
    if at < 0:
        return Leave(st.now[BEST], at, st.now[BEST_TIME], log_pace, 0, -1)
    return Leave(st.now[BEST], at, st.now[BEST_TIME], st.pace[at], st.times[at], st.row[at])


@inner
def wait_for(
    p: Prices, lane: Lanes, st: States, w: Waiting, press: int, time: float, key: int, bit: int, leave: Leave,
    jumps: bool, surely: bool, scratch: Array,
) -> int:  # fmt: skip
    """`jumping.landings`, into a free slot; returns which, -1 if there is no landing."""
    starts = surely or leave.value < p.beam + p.gain[EXACT]
    floor, found, top = st.now[BEST] - p.beam, 0, NEVER
    worth, here = NEVER, 0.0
    states = lane.exact[lane.begin[key] : lane.begin[key + 1]]
    if leave.state >= 0 and len(states):
        pause = math.log(max(time - leave.time, 0.01) / lane.next_quarters[leave.state]) - leave.pace
        worth = leave.value + p.gain[EXACT] + p.jump_near - p.jump + min(max(p.pause_weight * pause, 0.0), p.pause_most)
        here = lane.quarter[leave.state]
    slot = 0
    while (w.slots[: w.used[0]] == slot).any():
        slot += 1
    for o in states:
        value, how = weigh(p, lane, o, worth, here, jumps)
        if starts and lane.start_worth[o] > value:
            value, how = lane.start_worth[o], STARTED
        if value > floor:
            scratch[found, 0], scratch[found, 1], scratch[found, 2] = value, o, how
            top = max(top, value)
            found += 1
    if not found:
        return -1
    keep = np.arange(found)
    if found > p.landings_most:
        keep = np.sort(np.argsort(-scratch[:found, 0], kind="mergesort")[: p.landings_most])
    for i in range(len(keep)):
        w.value[slot, i] = scratch[keep[i], 0]
        w.place[slot, i, 0], w.place[slot, i, 1] = int(scratch[keep[i], 1]), int(scratch[keep[i], 2])
    w.whole[slot, PRESS], w.whole[slot, FOUND], w.whole[slot, BIT] = press, len(keep), bit
    w.whole[slot, TIMES], w.whole[slot, ROW] = leave.times, leave.row
    w.real[slot, TIME], w.real[slot, PACE], w.real[slot, TOP] = time, leave.pace, top
    w.slots[w.used[0]] = slot
    w.used[0] += 1
    return slot


@inlined
def weigh(p: Prices, lane: Lanes, o: int, worth: float, here: float, jumps: bool) -> tuple[float, int]:
    """`jumping._weigh_few` of one place, without starts."""
    ahead = lane.quarter[o] - here
    away = abs(ahead)
    near = away < p.jump_near_quarters
    far = 0.0 if near else min(math.log(away / p.jump_near_quarters), p.jump_farthest)
    hop = 0.0 < ahead <= p.hop_quarters
    bonus = p.hop_cheaper if hop else lane.bonus[o] if jumps else NEVER
    value = worth - p.jump_far * far - p.jump_nearer * (away if near else p.jump_near_quarters) + bonus
    return value, HOPPED if hop else JUMPED


@inner
def confirm(
    p: Prices, lane: Lanes, st: States, w: Waiting, log: Array, slot: int, key: int, log_pace: float, out: Array
) -> int:
    """`Weighing._confirm` of one press; puts the states into ``out`` and returns how many there are."""
    if slot < 0:
        return 0
    real, whole, n = np.empty(3), np.empty(4, np.int64), 0
    codes, size = lane.codes[key], len(lane.quarter)
    for i in range(w.whole[slot, FOUND]):
        o, how, value = w.place[slot, i, 0], w.place[slot, i, 1], w.value[slot, i]
        if value <= st.now[BEST] - p.beam or value <= st.value[o]:
            continue
        on = False
        for k in range(o, min(o + p.reach + 1, size)):
            on = on or codes[k + HERE] == EXACT
        if not on:
            continue
        started = how == STARTED
        real[0], real[1], real[2] = w.real[slot, TIME], w.real[slot, PACE], lane.unheard[o] - p.unheard
        whole[0], whole[1], whole[2], whole[3] = w.whole[slot, TIMES], w.whole[slot, BIT], -1, -1
        if started:
            real[1], whole[0] = log_pace, 0
        place(st, o, value, real, whole)
        log_row(log, st, w.whole[slot, PRESS], o, EXACT, how, -1 if started else w.whole[slot, ROW])
        if value > st.now[BEST]:
            st.now[BEST], st.now[BEST_TIME], st.counts[BEST_STATE] = value, w.real[slot, TIME], o
        out[n] = o
        n += 1
    return n


@inlined
def keep_waiting(w: Waiting, least_top: float, least_press: int) -> None:
    """Let go of the presses whose landings are out of the running, or too long ago."""
    kept = 0
    for i in range(w.used[0]):
        slot = w.slots[i]
        if w.real[slot, TOP] > least_top and w.whole[slot, PRESS] > least_press:
            w.slots[kept] = slot
            kept += 1
    w.used[0] = kept
