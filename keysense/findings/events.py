"""The events of a take: what sounds at one written onset, of one hand or of both together.

Conventions
    An event is the notes of one written onset in one hand, timed by its first key down. A step leads from one event to
    the next written one: nothing left out between, one pass, time running forward. Of both hands together, what is
    written for a hand that is silent thereabouts is not left out; and where the hands are plainly apart (the median of
    left minus right, `hands_apart`), the left hand's keys are moved by as much before both make one pulse.

Findings
    None of its own: what the questions look at.

References
    None: bookkeeping. How far hands are apart is the finding of `keysense.findings.hands`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from keysense.findings.heard import Heard

__all__ = ["Events", "Together", "distinct", "events_of", "of_hand", "together"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

_SAME_Q = 1e-6
_ALONE_QUARTERS = 4.0  # a hand that has not sounded for so long, and will not, is out


@dataclass(frozen=True, eq=False)
class Events:
    """The events of one hand, or of all, in written order.

    Columns are one an event: quarter (written onset), end_quarter (where its longest note ends), time_s (first key
    down), release_s (last key up), velocity (mean of its notes), bar, rank (place among the written events of this
    hand), passing (number of the pass), row (row of `Heard.rows` that sounded first), size (notes), grace (a grace
    note is written before it), again (it was sounded before in the same pass).
    """

    hand: str
    quarter: Floats
    end_quarter: Floats
    time_s: Floats
    release_s: Floats
    velocity: Floats
    bar: Ints
    rank: Ints
    passing: Ints
    row: Ints
    size: Ints
    grace: Bools
    again: Bools

    def __len__(self) -> int:
        return len(self.quarter)


def events_of(heard: Heard, hand: str | None, voice: int | None = None) -> Events:
    """The events of one hand, or of one voice of it; of all hands where ``hand`` is None."""
    all_rows, asked = heard.rows, heard.target.notes
    index = np.flatnonzero(of_hand(all_rows, hand, voice) & ~all_rows["grace"])
    index = _of_one_playing(all_rows, index) if hand is None else index
    own, grace = of_hand(asked, hand, voice), asked["is_grace"]
    if hand is None:
        own = own & ~_silent(heard)
    written, graces = (distinct(np.round(asked["onset_quarter"][own & which], 6)) for which in (~grace, grace))
    quarter = np.round(all_rows["quarter"][index], 6)
    order = np.lexsort((all_rows["onset_s"][index], quarter))
    index, quarter = index[order], quarter[order]
    first = np.flatnonzero(np.append(True, quarter[1:] != quarter[:-1])[: len(quarter)])
    size = np.append(first[1:], len(quarter))[: len(first)] - first
    none, quarter = not len(index), quarter[first]

    moved = _apart_s(heard) * (all_rows["hand"][index] == "L") if hand is None else np.zeros(len(index))

    def column(name: str) -> npt.NDArray[Any]:
        return np.asarray(all_rows[name][index])

    def over(function: np.ufunc, values: Floats) -> Floats:
        return np.zeros(0) if none else np.asarray(function.reduceat(values, first), float)

    return Events(
        hand or "",
        quarter,
        over(np.maximum, column("quarter") + column("length")),
        over(np.minimum, column("onset_s") - moved),
        over(np.maximum, column("release_s") - moved),
        over(np.add, column("velocity")) / np.maximum(size, 1),
        column("bar")[first],
        np.searchsorted(written, quarter - _SAME_Q),
        column("passing")[first],
        index[first],
        size,
        np.isin(quarter, graces) if len(graces) else np.zeros(len(quarter), bool),
        over(np.maximum, column("again").astype(float)) > 0,
    )


def _of_one_playing(all_rows: npt.NDArray[np.void], index: Ints) -> Ints:
    """Rows without those that sounded an onset in another playing than most did: one hand alone and then the other."""
    passing = all_rows["passing"][index]
    if not len(index) or passing.min() == passing.max():
        return index
    times = np.bincount(passing)
    rank = np.empty(len(times), np.int64)
    rank[np.argsort(times, kind="stable")] = np.arange(len(times))
    _, at = np.unique(np.round(all_rows["quarter"][index], 6), return_inverse=True)
    most = np.zeros(at.max() + 1, np.int64)
    np.maximum.at(most, at, rank[passing])
    return np.asarray(index[rank[passing] == most[at]])


@dataclass(frozen=True)
class Together:
    """The places where both hands strike: left minus right in seconds, and the bar of each; shared: also those where
    the two are too far apart to be meant together."""

    lag_s: Floats
    bar: Ints
    shared: int


def together(heard: Heard) -> Together:
    """Where both hands of a take strike, of one pass; worked out once a take."""
    return heard.once("together", lambda: _together(heard))


def _together(heard: Heard) -> Together:
    right, left = heard.hand_events["R"], heard.hand_events["L"]
    shared, in_right, in_left = np.intersect1d(right.quarter, left.quarter, return_indices=True)
    lag_s = _mean_s(heard, left)[in_left] - _mean_s(heard, right)[in_right]
    near = np.abs(lag_s) < heard.practice.value("together_farthest") / 1000
    near &= (right.passing[in_right] == left.passing[in_left]) & ~heard.spread_at(shared)
    return Together(lag_s[near], right.bar[in_right][near], len(shared))


def _mean_s(heard: Heard, events: Events) -> Floats:
    """When the keys of each event went down, in the mean: the first of three is early by chance alone."""
    index = heard.sounded(events.hand)
    at = np.searchsorted(events.quarter, np.round(heard.rows["quarter"][index], 6) - _SAME_Q)
    total = np.bincount(at, heard.rows["onset_s"][index], len(events))
    return np.asarray(total / events.size)


def _apart_s(heard: Heard) -> float:
    """How far the left hand is behind the right one where they plainly go apart; else nothing."""
    if not {"R", "L"} <= set(heard.hands):
        return 0.0
    lag_s = together(heard).lag_s
    if len(lag_s) < heard.practice.value("hands_lag_pairs"):
        return 0.0
    middle = float(np.median(lag_s))
    return middle if 1000 * abs(middle) > heard.practice.value("hands_apart") else 0.0


def _silent(heard: Heard) -> Bools:
    """The written notes of a hand that sounds nowhere near: where one goes on alone, the other leaves nothing out."""
    notes = heard.target.notes
    silent = np.zeros(len(notes), bool)
    for hand in heard.target.hands:
        at = np.flatnonzero(notes["hand"] == hand)
        sounded = heard.rows["quarter"][heard.rows["hand"] == hand]
        if len(sounded):
            quarter = notes["onset_quarter"][at]
            after = np.searchsorted(sounded, quarter)
            before = np.abs(quarter - sounded[np.clip(after - 1, 0, None)])
            near = np.minimum(before, np.abs(quarter - sounded[np.clip(after, None, len(sounded) - 1)]))
            silent[at] = near > _ALONE_QUARTERS + _SAME_Q
        else:
            silent[at] = True
    return silent


def distinct(ordered: npt.NDArray[Any]) -> npt.NDArray[Any]:
    """Each of some values in order once."""
    return ordered[np.append(True, ordered[1:] != ordered[:-1])] if len(ordered) else ordered


def of_hand(notes: npt.NDArray[np.void], hand: str | None, voice: int | None) -> Bools:
    """Which of some notes are of a hand, and of a voice of it; None for any."""
    chosen = np.ones(len(notes), bool) if hand is None else notes["hand"] == hand
    return np.asarray(chosen if voice is None else chosen & (notes["voice"] == voice), bool)
