"""The sweep once more, for a compiler: a whole take.

See `kernel_types`.
"""

from __future__ import annotations

import math

import numpy as np

from keysense.following.kernel_landings import confirm, keep_waiting, leave_now, wait_for
from keysense.following.kernel_moves import advance
from keysense.following.kernel_sure import carries, go_back, go_on, no_trail
from keysense.following.kernel_types import (
    ACTIVE,
    AROUND,
    BEST,
    BEST_STATE,
    BITS,
    HERE,
    KEYS,
    LISTED,
    LOGGED,
    MARGIN,
    NEVER,
    SLOTS,
    Array,
    Land,
    Lanes,
    Leave,
    Plan,
    Prices,
    States,
    Trail,
    Waiting,
    inlined,
    inner,
    outer,
)

__all__ = ["Plan", "Prices", "sweep"]


@inlined
def relist(p: Prices, st: States) -> None:
    """Only states within the beam stay listed."""
    st.now[LISTED] = st.now[BEST] - p.beam
    kept = 0
    for k in range(st.counts[ACTIVE]):
        s = st.active[k]
        if st.value[s] > st.now[LISTED]:
            st.active[kept] = s
            kept += 1
    st.counts[ACTIVE] = kept


@inner
def codes_of(exact: Array, begin: Array, size: int, reach: int) -> Array:
    """`Lane.codes` of every key."""
    codes = np.zeros((KEYS, size + HERE + reach + 1), np.uint8)
    for key in range(KEYS):
        for code, by in AROUND:
            row = key + by + MARGIN
            for o in exact[begin[row] : begin[row + 1]]:
                codes[key, o + HERE] = code
    return codes


@inner
def repeats_of(repeats: Array, size: int) -> tuple[Array, Array]:
    """`Lane.repeats` by onset."""
    again, nearest = np.full(size if len(repeats) else 0, -1), np.zeros(size if len(repeats) else 0, np.int64)
    for k in range(len(repeats)):
        again[repeats[k, 0]], nearest[repeats[k, 0]] = repeats[k, 1], repeats[k, 2]
    return again, nearest


@inner
def start(size: int, presses: int) -> States:
    """No press heard yet."""
    more = size + 1  # the last is the one that goes on alone
    whole, real = np.zeros((7, more), np.int64), np.zeros((3, more))
    whole[5], whole[6] = -1, -1
    return States(
        np.full(more, NEVER), real[0], real[1], whole[0], real[2], whole[1], whole[2], whole[3], whole[5], whole[4],
        whole[6], np.full(KEYS, -np.inf), np.zeros(3), np.array([-1, 0, 0]),
    )  # fmt: skip


@inner
def best_path(st: States, trail: Trail, log: Array) -> Array:
    """The best path, in the order played: press, state, kind, how."""
    at = st.row[carries(st, trail)] if st.counts[BEST_STATE] >= 0 else -1
    n, row = 0, at
    while row >= 0:
        n, row = n + 1, log[row, 4]
    out = np.empty((n, 4), np.int64)
    while at >= 0:
        n -= 1
        out[n] = log[at, :4]
        at = log[at, 4]
    return out


@inner
def unison(p: Prices, lane: Lanes, st: States, trail: Trail, unisons: Array, since: float, key: int) -> bool:
    """`Sweep._unison`."""
    at = st.counts[BEST_STATE]
    if at < 0:
        return False
    place = key * len(lane.quarter) + at
    k = np.searchsorted(unisons, place)
    if k == len(unisons) or unisons[k] != place:
        return False
    return bool(since < p.unison_share * lane.next_quarters[at] * math.exp(st.pace[carries(st, trail)]))


@inner
def weigh(
    p: Prices, lane: Lanes, st: States, land: Land, w: Waiting, log: Array, scratch: Array, arrived: Array,
    time_s: Array, pitch: Array, i: int, presses: int, well: int, previous: int, left: Leave, log_pace: float,
    jumps: bool,
) -> tuple[int, int, Leave]:  # fmt: skip
    """`Weighing.weigh`: how many presses were taken well, the one not weighed for jumps yet, and what it left."""
    time, key, bit = time_s[i], pitch[i], 1 << pitch[i] % BITS
    leave, before = leave_now(st, log_pace), st.now[BEST]
    keep_waiting(w, before - p.beam, -1)
    for k in range(w.used[0]):
        confirm(p, lane, st, w, log, w.slots[k], key, log_pace, arrived)
    relist(p, st)
    advance(p, lane, st, land, log, st.active[: st.counts[ACTIVE]], i, time, key, bit)
    if st.now[BEST] - before >= p.taken_well and presses > p.start_surely_within:
        return well + 1, i, leave
    early = presses <= p.start_within
    if previous >= 0:
        key_before = pitch[previous]
        slot = wait_for(
            p, lane, st, w, previous, time_s[previous], key_before, 1 << key_before % BITS, left, jumps, early, scratch
        )
        new = confirm(p, lane, st, w, log, slot, key, log_pace, arrived)
        advance(p, lane, st, land, log, arrived[:new], i, time, key, bit)
    wait_for(p, lane, st, w, i, time, key, bit, leave, jumps, early, scratch)
    keep_waiting(w, 2.0 * NEVER, i - p.confirm_within)
    return 0, -1, left


@outer
def sweep(
    p: Prices, plan: Plan, time_s: Array, pitch: Array, needed: Array, log_pace: float, jumps: bool
) -> tuple[Array, float, Array]:
    """`Sweep.hear` for each press: the value after each that was heard, the value of the best path, and that path."""
    size, n = len(plan.quarter), len(time_s)
    again, nearest = repeats_of(plan.repeats, size)
    onset, begin = plan.sounded % size, np.searchsorted(plan.sounded, np.arange(-MARGIN, KEYS + MARGIN + 1) * size)
    lane = Lanes(
        plan.quarter, plan.next_quarters, plan.passed, plan.unheard, plan.bonus, plan.start_worth,
        onset, begin[MARGIN:], codes_of(onset, begin, size, p.reach), again,
        nearest,
    )  # fmt: skip
    st, land = start(size, n), Land(
        np.empty(size, np.int64), np.empty(size, np.int64), np.empty(size, np.int64), np.empty(size), np.empty(size),
        np.empty((size, 3)), np.empty((size, 5), np.int64),
    )  # fmt: skip
    few = min(size, p.landings_most)
    w = Waiting(
        np.empty((SLOTS, few, 2), np.int64), np.empty((SLOTS, few)), np.empty((SLOTS, 5), np.int64),
        np.empty((SLOTS, 3)), np.empty(SLOTS, np.int64), np.zeros(1, np.int64),
    )  # fmt: skip
    most = (max(p.put_off, p.sure_back) + 1) * (2 * size + SLOTS * few)  # rows of the log that one press can add
    log, curve = np.empty((4 * n + most, 5), np.int32), np.empty(n)
    scratch, arrived, trail = np.empty((size, 3)), np.empty(few, np.int64), no_trail(p)
    well, previous, left = 0, -1, leave_now(st, log_pace)
    for i in range(n):
        key = pitch[i]
        since = time_s[i] - st.struck[key]
        echo = since < p.echo_s or (since < p.unison_s and unison(p, lane, st, trail, plan.unisons, since, key))
        st.struck[key] = time_s[i]
        if st.counts[LOGGED] + most > len(log):
            longer = np.empty((2 * len(log) + most, 5), np.int32)
            longer[: len(log)] = log
            log = longer
        if not echo:
            first, end, sure = 0, 0, False
            if well >= p.sure_after:
                sure = go_on(p, lane, st, trail, w, log, time_s, pitch, i)
                if not sure:
                    first, end = go_back(p, lane, st, trail, pitch)
            for k in range(first, first if sure else end + 1):
                j = i if k == end else trail.whole[k, 6]
                well, previous, left = weigh(
                    p, lane, st, land, w, log, scratch, arrived, time_s, pitch, j, i + 1, well, previous, left,
                    log_pace, jumps,
                )  # fmt: skip
        curve[i] = st.now[BEST]
        if curve[i] < needed[i]:
            return curve[:i], st.now[BEST], best_path(st, trail, log)
    return curve, st.now[BEST], best_path(st, trail, log)
