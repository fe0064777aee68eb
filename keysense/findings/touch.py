"""How each note of a hand was joined to the next.

Conventions
    Key times only, never the pedal's. The overlap of a note is its release minus the next onset of the same hand and
    voice: positive is held over, negative a gap. The next note is the next written event of that voice; of a chord the
    highest note that is not written on past the next event leads there.

Findings
    None of its own: what `slurs`, `sighs`, `articulation` and `breathing` look at.

References
    Repeated notes cannot overlap; what the pedal joins tells nothing of the fingers (common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from keysense.findings.heard import Events, Heard, events_of
from keysense.findings.ranks import medians_alike
from keysense.findings.stats import Estimate, t_quantile
from keysense.findings.steps import steps_of

__all__ = ["TOUCH", "hold_of", "medians_of", "share_of", "silent_of", "touches_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

_NEAR = 1e-6
_FEWEST_OF_ITS_OWN = 3
_FEWEST_DF = 6
_SHORTEST_S = 0.02  # in a shorter step no key is let go and struck
_TAKEN = ("quarter", "length", "bar", "target", "onset_s", "release_s", "pitch")


TOUCH = np.dtype(
    [
        ("quarter", "f8"), ("next_quarter", "f8"), ("bar", "i8"), ("target", "i8"),
        ("overlap_s", "f8"), ("step_s", "f8"), ("rest", "f8"), ("repeated", "?"), ("pedal", "?"), ("usable", "?"),
        ("rested", "?"), ("phrase_end", "?"), ("phrase", "i8"),
    ]
)  # fmt: skip


def touches_of(heard: Heard, hand: str) -> npt.NDArray[np.void]:
    """How each step of one hand was joined: rows of dtype TOUCH in written order.

    quarter, next_quarter: written onsets of the two notes; target (row), bar, phrase: of the first; rest: share
    of the step written as silence; repeated: the same key again; pedal: down as the key came up or the next went down;
    usable: no wait, and no rest written between; rested: no wait, but a rest is written between.
    """
    return heard.once(("touches", hand), lambda: _touches_of(heard, hand))


def _touches_of(heard: Heard, hand: str) -> npt.NDArray[np.void]:
    rows, notes = heard.rows, heard.target.notes
    voices = np.unique(rows["voice"][rows["hand"] == hand]).tolist()
    if len(voices) == 1 and np.all(notes["voice"][notes["hand"] == hand] == voices[0]):
        return _touches(heard, heard.hand_events[hand], hand, voices[0])
    parts = [_touches(heard, events_of(heard, hand, voice), hand, voice) for voice in voices]
    touches = np.concatenate([np.zeros(0, TOUCH), *parts])
    return touches[np.argsort(touches["quarter"], kind="stable")]


def hold_of(touches: npt.NDArray[np.void], most: float) -> Floats:
    """Key-down time as a share of the step (before a rest: of the written note), at most ``most``: keys kept down."""
    note = np.where(touches["rested"], 1 - touches["rest"], 1.0)
    return np.minimum((1 + share_of(touches)) / note, most)


def silent_of(touches: npt.NDArray[np.void]) -> Floats:
    """Share of the step that is silent beyond a written rest; before a rest, share of the written note."""
    note = np.where(touches["rested"], 1 - touches["rest"], 1.0)
    return np.asarray((-share_of(touches) - touches["rest"]) / note)


def share_of(touches: npt.NDArray[np.void]) -> Floats:
    """The overlap as a share of the step; of a step too short to be usable, none."""
    step, share = touches["step_s"], np.zeros(len(touches))
    return np.asarray(np.divide(touches["overlap_s"], step, out=share, where=step > _SHORTEST_S), float)


def _touches(heard: Heard, events: Events, hand: str, voice: int) -> npt.NDArray[np.void]:
    steps = steps_of(heard, events)
    top, leading = _singing(heard, events, hand, voice)
    known = leading[steps.first] >= 0
    first, second = ({name: heard.rows[name][of] for name in _TAKEN}
                     for of in (leading[steps.first[known]], top[steps.second[known]]))  # fmt: skip
    phrase = heard.phrase_of(events.quarter)
    touches = np.zeros(int(np.count_nonzero(known)), TOUCH)
    touches["quarter"], touches["next_quarter"] = first["quarter"], second["quarter"]
    touches["bar"], touches["target"] = first["bar"], first["target"]
    touches["overlap_s"] = first["release_s"] - second["onset_s"]
    touches["step_s"] = second["onset_s"] - first["onset_s"]
    before_s = heard.practice.value("joined_by_pedal") / 1000
    touches["repeated"] = first["pitch"] == second["pitch"]
    touches["pedal"] = heard.pedal_down(first["release_s"]) | heard.pedal_down(second["onset_s"] - before_s)
    silent = second["quarter"] - first["quarter"] - first["length"]
    touches["rest"] = np.maximum(0, silent) / steps.length[known]
    kept, rests = (
        ~steps.long[known] & (touches["step_s"] > _SHORTEST_S),
        touches["rest"] > heard.practice.value("rest_share"),
    )
    touches["usable"], touches["rested"] = kept & ~rests, kept & rests
    touches["phrase"] = phrase[steps.first][known]
    touches["phrase_end"] = (phrase[steps.first] != phrase[steps.second])[known]
    return touches


def _singing(heard: Heard, events: Events, hand: str, voice: int) -> tuple[Ints, Ints]:
    """For each event the row of its highest note, and of its highest that is not written on past the next event.

    -1 where every note of the event is held on: such a note is no step to the next one.
    """
    rows = heard.rows
    index = np.flatnonzero((rows["hand"] == hand) & (rows["voice"] == voice) & ~rows["grace"])
    event = np.searchsorted(events.quarter, rows["quarter"][index] - _NEAR)
    index, event = index[np.lexsort((rows["pitch"][index], event))], np.sort(event)
    following = np.append(events.quarter[1:], np.inf)[event]
    moves_on = rows["quarter"][index] + rows["length"][index] < following + heard.practice.value("held_on")
    top, leading = np.full(len(events), -1), np.full(len(events), -1)
    top[event] = index  # the last one written is the highest
    leading[event[moves_on]] = index[moves_on]
    return top, leading


def medians_of(groups: Sequence[Floats]) -> list[Estimate]:
    """The median of each group with its interval: exact signed rank from six values, Student's from three to five.

    One or two values borrow the scatter that the groups have within them or, where all are so small, among them; with
    fewer than six degrees of freedom for it they have no interval.
    """
    tables = _by_size(groups)
    squares, df = _within(tables)
    found: list[Estimate] = [Estimate(None, None, None, 0)] * len(groups)
    for n, (places, table) in tables.items():
        if n >= _FEWEST_OF_ITS_OWN:
            estimates = medians_alike(table)
        elif df >= _FEWEST_DF:
            estimates = _borrowing(table, np.full(len(table), math.sqrt(squares / df)), df)
        else:
            estimates = _borrowing(table, *_others(np.concatenate(groups), table))
        for place, estimate in zip(places, estimates, strict=True):
            found[place] = estimate
    return found


def _by_size(groups: Sequence[Floats]) -> dict[int, tuple[list[int], Floats]]:
    """The groups of each size from one on: their places, and their values as one table."""
    places: dict[int, list[int]] = {}
    for k, group in enumerate(groups):
        places.setdefault(len(group), []).append(k)
    return {n: (of, np.array([groups[k] for k in of])) for n, of in places.items() if n}


def _within(tables: dict[int, tuple[list[int], Floats]]) -> tuple[float, int]:
    """Sum of squares within the groups and its degrees of freedom."""
    squares, df = 0.0, 0
    for n, (_, table) in tables.items():
        squares += float(((table - table.mean(axis=1, keepdims=True)) ** 2).sum())
        df += (n - 1) * len(table)
    return squares, df


def _others(every: Floats, table: Floats) -> tuple[Floats, int]:
    """The standard deviation of all values but those of one group, for each group, and its degrees of freedom."""
    n = len(every) - table.shape[1]
    if n < 2:
        return np.full(len(table), math.nan), 0
    middle = every.mean()
    every, table = every - middle, table - middle
    mean = -table.sum(axis=1) / n
    squares = float(every @ every) - (table**2).sum(axis=1) - n * mean**2
    return np.sqrt(np.maximum(squares, 0) / (n - 1)), n - 1


def _borrowing(table: Floats, sd: Floats, df: int) -> list[Estimate]:
    n, means = table.shape[1], table.mean(axis=1).tolist()
    if df < _FEWEST_DF:
        return [Estimate(mean, None, None, n) for mean in means]
    halves = (t_quantile(df) * sd / math.sqrt(n)).tolist()
    return [Estimate(mean, mean - half, mean + half, n) for mean, half in zip(means, halves, strict=True)]
