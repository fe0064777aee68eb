"""The sweep of `decode`, `weighing`, `sure` and `jumping` once more, for a compiler: what it holds.

This file alone imports the compiler.

Nothing here is meant to be read for the method. The numpy sweep is the reference: it is what runs where there is no
compiler, and the tests hold both to the same pairs. `fast` says when this is used; nothing else imports it.

Everything that `constants` holds is given as `Prices`, so that what was compiled once stays right when one is changed.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple, TypeVar, cast

import numpy as np
from numba import njit
from numba.extending import register_jitable

__all__: list[str] = []

Array = np.ndarray[Any, Any]
Function = TypeVar("Function", bound=Callable[..., Any])

EXACT, BESIDE, HERE, LATE = 1, 2, 2, 5
MOVED, JUMPED, STARTED, HOPPED, LEFT_OUT = 0, 1, 2, 3, 4
NEVER = -1e9
BEST, BEST_TIME, LISTED = 0, 1, 2  # of `States.now`
BEST_STATE, ACTIVE, LOGGED, WAITING = 0, 1, 2, 3  # of `States.counts`
SHORTEST_S = 0.005
SLOTS = 8  # presses whose landings wait: three at most, and two more for a moment
KEYS, MARGIN, BITS = 128, 16, 61
PRESS, FOUND, BIT, TIMES, ROW = 0, 1, 2, 3, 4  # of `Waiting.whole`
TIME, PACE, TOP = 0, 1, 2  # of `Waiting.real`
USED, LET_GO = 0, 1  # of `Trail.now`
AROUND = ((4, -12), (4, 12), (3, -2), (3, 2), (2, -1), (2, 1), (1, 0))  # `lane._AROUND`


def inner(function: Function) -> Function:
    """Compiled with the function that calls it."""
    return cast(Function, njit(function))


def inlined(function: Function) -> Function:
    """Written into the function that calls it: handing so many arrays over takes longer than what is done to them."""
    return cast(Function, njit(inline="always")(function))


def shared(function: Function) -> Function:
    """Compiled with the compiled functions that call it, and left as it is for all others."""
    made: Function = register_jitable(function)
    return made


def outer(function: Function) -> Function:
    """Compiled at its first call, or read from where that was kept."""
    return cast(Function, njit(cache=True)(function))


class Prices(NamedTuple):
    """The constants of the path, under their own names; ``gain`` by the codes of the lane."""

    gain: Array
    reach: int
    near_reach: int
    late: float
    late_within_s: float
    echo_s: float
    unison_s: float
    unison_share: float
    unheard: float
    stay_per_s: float
    stay_most: float
    tempo_weight: float
    tempo_free: float
    tempo_most: float
    tempo_learn: float
    tempo_first_clip: float
    tempo_clip: float
    left_out: float
    jump: float
    jump_near: float
    jump_near_quarters: float
    jump_nearer: float
    jump_far: float
    jump_farthest: float
    hop_quarters: float
    hop_cheaper: float
    pause_weight: float
    pause_most: float
    start_within: int
    start_surely_within: int
    beam: float
    sure_after: int
    put_off: int
    sure_back: int
    taken_well: float
    confirm_within: int
    landings_most: int


class Lanes(NamedTuple):
    """A lane as arrays, a value an onset; ``codes``: a row a key; key k stands at exact[begin[k]:begin[k + 1]].

    ``again``, ``nearest``: `Lane.repeats`, -1 where an onset is none of them; empty where there is none at all."""

    quarter: Array
    next_quarters: Array
    passed: Array
    unheard: Array
    bonus: Array
    start_worth: Array
    exact: Array
    begin: Array
    codes: Array
    again: Array
    nearest: Array


class States(NamedTuple):
    """What `Weighing` carries, a value a state, and last `Sure.runner`; ``land_at``: where a state stands among the new
    ones, or -1."""

    value: Array
    first: Array
    pace: Array
    times: Array
    unheard: Array
    here: Array
    one: Array
    two: Array
    row: Array
    active: Array
    land_at: Array
    struck: Array
    now: Array
    counts: Array


class Land(NamedTuple):
    """The new states of one press: onset, state it comes from, kind, worth, surprise; then what it will carry."""

    onset: Array
    source: Array
    kind: Array
    worth: Array
    raw: Array
    real: Array  # first heard, pace, price of the unheard
    whole: Array  # times learnt; heard here, one and two onsets before; row before


class Plan(NamedTuple):
    """`Lane.arrays`, a value an onset; ``sounded`` a value a place: pitch times the number of onsets, plus onset.

    ``unisons`` are those of the places where two notes are written; ``repeats``: `Lane.repeats`, three a row."""

    quarter: Array
    next_quarters: Array
    passed: Array
    unheard: Array
    bonus: Array
    start_worth: Array
    sounded: Array
    unisons: Array
    repeats: Array


class Waiting(NamedTuple):
    """Landings not yet confirmed, a row a press: places (state, how), their values, and what a jump would leave."""

    place: Array
    value: Array
    whole: Array
    real: Array
    slots: Array  # the rows in use, in the order of the presses
    used: Array  # how many


class Trail(NamedTuple):
    """`Sure.trail`: the best state before each of the presses that it alone took."""

    whole: Array  # state, times learnt; heard here, one and two onsets before; row; press
    real: Array  # value, first heard, pace, price of the unheard, time of the best
    now: Array  # how many; whether the others are let go


class Leave(NamedTuple):
    """`jumping.Leave`."""

    value: float
    state: int
    time: float
    pace: float
    times: int
    row: int
