"""The target laid out for decoding: all readings side by side on one axis, and where each pitch may land.

Conventions
    A *lane* is one reading of the target (a hypothesis, with jumps allowed or not). Lanes lie one after another on one
    axis of states; a state is "this onset was the last one heard". Before each lane stand `REACH` states that can never
    be reached, so that looking back over the edge needs no special case.
    A *landing* is one way a key of a pitch can be taken: as a written note of an onset (exact), as the neighbour of one
    (near), as its octave, or as a late note of an onset just passed (the state then stays where it is).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.hypotheses import Hypothesis
from keysense.targets.target import Target

__all__ = ["EXACT", "LATE", "NEAR", "OCTAVE", "Landings", "Lane", "Table"]

EXACT, NEAR, OCTAVE, LATE = 0, 1, 2, 3
_FAR = 1e9
_MOST_BITS = 62

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Lane:
    """One reading: where its states lie on the axis, its onsets in quarters and its notes."""

    hypothesis: Hypothesis
    jumps: bool
    first: int
    onset_quarter: Floats
    note: Ints  # target rows that sound
    onset_of: Ints  # their onset, from 0 in this lane
    bit: Ints  # their place in the chord
    pitch: Ints  # as it would sound


@dataclass(frozen=True)
class Landings:
    """All landings of one pitch, k rows; the two-dimensional columns have `REACH` + 1 ways to come from."""

    state: Ints
    lane: Ints
    note: Ints
    kind: Ints
    gain: Floats
    mark: Ints  # the bit of the note in its chord
    column: Ints  # which of the heard columns it marks
    heard_at: Ints  # where that column of its state lies when the columns are laid flat
    late_s: Floats  # how long after the state's onset it may still join
    back: Ints  # (k, REACH + 1) states it may come from: itself, one before, ...
    move_cost: Floats  # (k, REACH + 1)
    log_quarters: Floats  # (k, REACH + 1) log of the written distance
    first_way: Ints  # where each row begins when the two-dimensional columns are laid flat
    exact: Ints  # which rows are exact, and of these:
    exact_lane: Ints
    exact_bonus: Floats  # what makes a jump there cheaper
    exact_start: Floats  # what starting there is worth
    exact_quarter: Floats

    def only(self, keep: npt.NDArray[np.bool_]) -> Landings:
        """The landings of some lanes."""
        rows = keep[self.lane]
        among = keep[self.exact_lane]
        new_row = np.cumsum(rows) - 1
        cut = {name: getattr(self, name)[rows] for name in _ROW_COLUMNS}
        ofexact = {name: getattr(self, name)[among] for name in _EXACT_COLUMNS}
        return Landings(**cut, **ofexact, first_way=self.first_way[: int(rows.sum())], exact=new_row[self.exact[among]])


_ROW_COLUMNS = (
    "state", "lane", "note", "kind", "gain", "mark", "column", "heard_at", "late_s", "back", "move_cost",
    "log_quarters",
)  # fmt: skip
_EXACT_COLUMNS = ("exact_lane", "exact_bonus", "exact_start", "exact_quarter")


class Table:
    """Everything the sweep needs: lanes, the axis of states, and the landings of a pitch, made when first asked for.

    quarter: where each state is written, NaN between lanes; unheard: the price of leaving a state with nothing of its
    chord heard; log_next: log of the distance to the next onset.
    """

    def __init__(self, target: Target, readings: list[tuple[Hypothesis, bool]]) -> None:
        self.lanes: list[Lane] = []
        at = c.REACH
        for hypothesis, jumps in readings:
            lane = _lane(target, hypothesis, jumps, at)
            if len(lane.note):
                self.lanes.append(lane)
                at += len(lane.onset_quarter) + c.REACH
        self.size = at + c.LATE_REACH
        self.quarter, self.unheard, step = np.full(self.size, np.nan), np.zeros(self.size), np.ones(self.size)
        at_bar = np.zeros(self.size, bool)
        for lane in self.lanes:
            where = slice(lane.first, lane.first + len(lane.onset_quarter))
            self.quarter[where] = lane.onset_quarter
            self.unheard[where] = c.UNHEARD * np.bincount(lane.onset_of)
            gaps = np.diff(lane.onset_quarter)
            step[where] = np.append(gaps, gaps[-1] if len(gaps) else 1.0)
            at_bar[where] = _first_of_bar(lane.onset_quarter, target.bars["start_quarter"])
        self.log_next = np.log(step)
        self._maker = _Maker(self.lanes, self.quarter, at_bar)
        self._made: dict[int, Landings | None] = {}
        self._cut: dict[int, Landings | None] = self._made
        self._kept = [True] * len(self.lanes)

    def landings(self, pitch: int) -> Landings | None:
        """Where a key may land in the lanes still weighed, None if nowhere."""
        if pitch not in self._made:
            self._made[pitch] = self._maker.landings(pitch)
        if pitch not in self._cut:
            rows = self._made[pitch]
            cut = rows.only(np.asarray(self._kept)) if rows is not None else None
            self._cut[pitch] = cut if cut is not None and len(cut.state) else None
        return self._cut[pitch]

    def keep_lanes(self, keep: list[bool]) -> None:
        """Weigh only some lanes from now on."""
        if keep != self._kept:
            self._kept = keep
            self._cut = {}


def _lane(target: Target, hypothesis: Hypothesis, jumps: bool, first: int) -> Lane:
    rows = hypothesis.rows
    quarter, onset_of = np.unique(np.round(target.notes["onset_quarter"][rows], 6), return_inverse=True)
    begin = np.searchsorted(onset_of, np.arange(len(quarter)))
    bit = np.minimum(np.arange(len(rows)) - begin[onset_of], _MOST_BITS) if len(rows) else np.zeros(0, np.int64)
    return Lane(hypothesis, jumps, first, quarter, rows, onset_of, bit, hypothesis.pitch[rows])


def _first_of_bar(onset_quarter: Floats, starts: Floats) -> npt.NDArray[np.bool_]:
    bar = np.searchsorted(starts, onset_quarter + 1e-6, side="right")
    return np.append(True, bar[1:] != bar[:-1])


class _Maker:
    """Gathers the landings of one pitch over all lanes."""

    def __init__(self, lanes: list[Lane], quarter: Floats, at_bar: npt.NDArray[np.bool_]) -> None:
        self.lanes, self.quarter, self.at_bar = lanes, quarter, at_bar
        self.first = np.asarray([lane.first for lane in lanes])
        self.may_jump = np.asarray([lane.jumps for lane in lanes])
        self.pitch = np.concatenate([lane.pitch for lane in lanes] or [np.zeros(0, np.int64)])
        self.state = np.concatenate([lane.onset_of + lane.first for lane in lanes] or [np.zeros(0, np.int64)])
        self.lane = np.concatenate([np.full(len(lane.note), i) for i, lane in enumerate(lanes)] or [np.zeros(0, int)])
        self.note = np.concatenate([lane.note for lane in lanes] or [np.zeros(0, np.int64)])
        self.bit = np.concatenate([lane.bit for lane in lanes] or [np.zeros(0, np.int64)])
        order = np.argsort(self.pitch, kind="stable")
        self.order = order
        self.begin = np.searchsorted(self.pitch[order], np.arange(-48, 180))

    def _written(self, pitch: int) -> Ints:
        return self.order[self.begin[pitch + 48] : self.begin[pitch + 49]]

    def landings(self, pitch: int) -> Landings | None:
        """The landings of one played pitch, None where it can land nowhere."""
        exact = self._written(pitch)
        parts = [(exact, EXACT, c.RIGHT, 0)]
        for by, worth in c.NEAR.items():
            parts += [(self._written(pitch + by), NEAR, worth, 0), (self._written(pitch - by), NEAR, worth, 0)]
        parts += [(self._written(pitch + by), OCTAVE, c.OCTAVE, 0) for by in (-12, 12)]
        parts += [(exact, LATE, c.LATE, late) for late in range(1, c.LATE_REACH + 1)]
        index = np.concatenate([rows for rows, *_ in parts])
        kind = np.concatenate([np.full(len(rows), k) for rows, k, *_ in parts])
        gain = np.concatenate([np.full(len(rows), float(g)) for rows, _, g, _ in parts])
        late = np.concatenate([np.full(len(rows), n) for rows, _, _, n in parts])
        state = self.state[index] + late
        inside = np.isfinite(self.quarter[state])  # a late note must have an onset after it in its own lane
        for n in range(1, c.LATE_REACH + 1):
            inside &= (late < n) | np.isfinite(self.quarter[np.maximum(state - n + 1, 0)])
        index, kind, gain, state = index[inside], kind[inside], gain[inside], state[inside]
        late = late[inside]
        if not len(index):
            return None
        return self._rows(index, kind, gain, state, late)

    def _rows(self, index: Ints, kind: Ints, gain: Floats, state: Ints, late: Ints) -> Landings:
        back = state[:, None] - np.arange(c.REACH + 1)
        here = self.quarter[back]
        apart = np.clip(here[:, :1] - here, 1e-3, None)
        cost = np.where(np.isfinite(here), c.SKIPPED * np.clip(np.arange(c.REACH + 1) - 1, 0, None), _FAR)
        only_stay, only_move = kind == LATE, (kind == NEAR) | (kind == OCTAVE)
        cost[only_stay, 1:] = _FAR
        cost[only_move, 0] = _FAR
        exact = np.flatnonzero(kind == EXACT)
        at, lane = state[exact], self.lane[index[exact]]
        is_first = at == self.first[lane]
        bar = self.at_bar[at]
        bonus = np.where(is_first, c.JUMP_TO_START, np.where(bar, c.JUMP_TO_BAR, 0.0))
        start = np.where(is_first, 0.0, np.where(bar, c.START_AT_BAR, c.START_ELSEWHERE))
        return Landings(
            state=state, lane=self.lane[index], note=self.note[index], kind=kind + np.maximum(late - 1, 0), gain=gain,
            mark=np.int64(1) << self.bit[index], column=late, heard_at=3 * state + late,
            late_s=np.where(late > 0, c.LATE_WITHIN_S, np.inf), back=back, move_cost=cost,
            log_quarters=np.log(np.nan_to_num(apart, nan=1.0)),
            first_way=np.arange(0, (c.REACH + 1) * len(index), c.REACH + 1), exact=exact, exact_lane=lane,
            exact_bonus=np.where(self.may_jump[lane], bonus, -_FAR), exact_start=c.RIGHT - start,
            exact_quarter=self.quarter[at],
        )  # fmt: skip
