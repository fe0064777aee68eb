"""From seconds to written quarters: which note values did the player mean?

Conventions
    Positions are whole ticks, twelve a quarter, so that halves, thirds and fourths of a quarter are exact. Only those
    are proposed. With a given tempo the pulse is followed as it bends: each interval may be any note value, at the
    cost of how far it stretches the pulse and how uncommon the value is; the cheapest reading of the whole wins (a
    beam search). With a tapped pulse, seconds become quarters between the taps and each note is set on the grid.
    The costs are common practice, no source; they were set on made-up playing and are tried in the tests.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["TICKS", "clean_taps", "ticks_by_taps", "ticks_by_tempo"]

TICKS = 12
_PLACE_COST = {0: 0.0, 6: 0.7, 4: 1.6, 8: 1.6, 3: 1.8, 9: 1.8}
_VALUE_COST = {12: 0.0, 24: 0.2, 6: 0.3, 36: 0.5, 48: 0.5, 18: 0.6, 4: 0.8, 3: 1.0, 8: 1.2, 9: 1.5}
_RARE_VALUE = 2.0
_MIXED_BEAT = 3.0  # thirds and halves of one beat
_OVER_THE_BAR = 1.6  # a note held over a bar line
_STRETCH = 0.09  # how unevenly a note value is usually held, in ln
_JITTER_S = 0.02  # how exactly a key is struck
_LONG_WAIT = 2.0  # the most a lengthening may cost: a breath is no other note value
_FOLLOW = 0.25  # share of a stretch that the pulse takes up
_WIDEST = 0.6  # ln: a value stretched further is another value
_BEAM = 150
_PACES = 1 << 20  # more than there are paces to tell apart
_TAP_SPREAD = 0.8  # ticks


@dataclass(frozen=True)
class _Beam:
    """Ways to read the notes so far, the cheapest first: one row each."""

    cost: npt.NDArray[np.float64]
    at: npt.NDArray[np.int64]
    log_period: npt.NDArray[np.float64]
    before: npt.NDArray[np.int64]  # the row of the beam one note earlier


def ticks_by_tempo(
    intervals_s: npt.NDArray[np.float64], tempo_qpm: float, start: int = 0, bar: int = 4 * TICKS
) -> list[int]:
    """Positions in ticks of n + 1 events from their n intervals, the first at ``start``; the pulse may bend.

    bar: ticks a bar, counted from 0.
    """
    expected = math.log(60.0 / tempo_qpm)
    beams = [_Beam(np.zeros(1), np.array([start]), np.array([expected]), np.zeros(1, dtype=np.int64))]
    for interval in intervals_s.tolist():
        beams.append(_best(_grown(beams[-1], max(interval, 1e-3), expected, bar)))
    ticks, row = [], 0
    for beam in reversed(beams):
        ticks.append(int(beam.at[row]))
        row = int(beam.before[row])
    return ticks[::-1]


def _best(beam: _Beam) -> _Beam:
    """The cheapest readings; of those that agree on place and pace only one is carried on."""
    order = np.argsort(beam.cost, kind="stable")
    alike = beam.at[order] * _PACES + np.round(beam.log_period[order] * 50).astype(np.int64)
    first = np.sort(np.unique(alike, return_index=True)[1])[:_BEAM]
    kept = order[first]
    return _Beam(beam.cost[kept], beam.at[kept], beam.log_period[kept], beam.before[kept])


def _grown(beam: _Beam, interval: float, expected: float, bar: int) -> _Beam:
    """Every reading with every note value that the interval may mean."""
    meant = TICKS * interval / np.exp(beam.log_period)
    low = np.maximum(1, np.floor(meant * math.exp(-_WIDEST))).astype(np.int64)
    high = np.maximum(np.ceil(meant * math.exp(_WIDEST)).astype(np.int64), low)
    values = np.arange(low.min(), high.max() + 1)
    end = beam.at[:, None] + values
    meets = (values >= low[:, None]) & (values <= high[:, None]) & np.isfinite(_PLACES[end % TICKS])
    row, column = np.nonzero(meets)
    value, at, end = values[column], beam.at[row], end[row, column]
    stretch = np.log(meant[row] / value)
    cost = stretch**2 / (2 * (_STRETCH**2 + (_JITTER_S / interval) ** 2))
    # After a wait the tune goes on at the pace it had.
    waited = (stretch > 0) & (value >= TICKS // 2) & (cost > _LONG_WAIT + stretch)
    cost = np.where(waited, _LONG_WAIT + stretch, cost)
    pace = beam.log_period[row] + np.where(waited, 0.0, _FOLLOW * np.clip(stretch, -0.3, 0.3))
    cost += beam.cost[row] + (pace - expected) ** 2 / (2 * 0.25**2) * 0.1
    cost += _PLACES[end % TICKS] + _VALUES[np.minimum(value, len(_VALUES) - 1)]
    cost += np.where(at // TICKS == end // TICKS, _MIXED[at % TICKS, end % TICKS], 0.0)
    cost += np.where(-(-end // bar) - at // bar > 1, _OVER_THE_BAR, 0.0)
    return _with_the_rest(beam, _Beam(cost, end, pace, row), ~meets.any(axis=1))


def _with_the_rest(beam: _Beam, grown: _Beam, rest: npt.NDArray[np.bool_]) -> _Beam:
    """And the readings that no value fits: struck almost together, so the next place of the grid."""
    row = np.flatnonzero(rest)
    if not len(row):
        return grown
    return _Beam(
        np.concatenate([grown.cost, beam.cost[row] + 8.0]),
        np.concatenate([grown.at, beam.at[row] + _NEXT[beam.at[row] % TICKS]]),
        np.concatenate([grown.log_period, beam.log_period[row]]),
        np.concatenate([grown.before, row]),
    )


def _mixed(before: int, after: int) -> float:
    """The cost of thirds beside halves or fourths in one beat."""
    if before // TICKS != after // TICKS:
        return 0.0
    places = {before % TICKS, after % TICKS} - {0}
    return _MIXED_BEAT if places & {4, 8} and places & {3, 6, 9} else 0.0


# The same costs as tables, for all readings at once.
_PLACES = np.array([_PLACE_COST.get(place, math.inf) for place in range(TICKS)])
_VALUES = np.array([_VALUE_COST.get(value, _RARE_VALUE) for value in range(max(_VALUE_COST) + 2)])
_MIXED = np.array([[_mixed(before, after) for after in range(TICKS)] for before in range(TICKS)])
_NEXT = np.array([next(k for k in range(1, TICKS + 1) if (at + k) % TICKS in _PLACE_COST) for at in range(TICKS)])


def clean_taps(taps_s: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Taps with double strokes taken out, missed ones put in, and the hand's own unsteadiness smoothed a little."""
    usual = float(np.median(np.diff(taps_s)))
    kept = [float(taps_s[0])]
    for tap in taps_s[1:].tolist():
        beats = (tap - kept[-1]) / usual
        if beats < 0.5:
            continue
        missed = max(0, round(beats - 0.25) - 1)
        kept += np.linspace(kept[-1], tap, missed + 2)[1:].tolist()
    taps = np.array(kept)
    if len(taps) >= 5:
        inner = (taps[:-2] + 2 * taps[1:-1] + taps[2:]) / 4
        # Where the pulse itself waits (a breath), the taps are right as they are.
        waits = np.abs(np.diff(taps, 2)) > 0.2 * usual
        taps = np.concatenate([taps[:1], np.where(waits, taps[1:-1], inner), taps[-1:]])
    return taps


def ticks_by_taps(onset_s: npt.NDArray[np.float64], taps_s: npt.NDArray[np.float64]) -> list[int]:
    """Positions in ticks, the first tap at 0; notes before it are negative."""
    place = _between_taps(onset_s, taps_s) * TICKS
    nearest = np.round(place / TICKS) * TICKS
    on_beat = np.abs(place - nearest) < 3
    if on_beat.sum() >= 3:
        # Taps run ahead of the notes, or behind them, by about the same time throughout.
        place = place - np.median((place - nearest)[on_beat])
    return _on_the_grid(place)


def _between_taps(onset_s: npt.NDArray[np.float64], taps_s: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Quarters by straight lines between taps, going on at the pace of the first and the last four."""
    beats = np.arange(len(taps_s), dtype=float)
    quarters = np.interp(onset_s, taps_s, beats)
    reach = min(4, len(taps_s) - 1)
    first = (taps_s[reach] - taps_s[0]) / reach
    last = (taps_s[-1] - taps_s[-1 - reach]) / reach
    quarters = np.where(onset_s < taps_s[0], (onset_s - taps_s[0]) / first, quarters)
    ahead: npt.NDArray[np.float64] = np.where(onset_s > taps_s[-1], beats[-1] + (onset_s - taps_s[-1]) / last, quarters)
    return ahead


def _on_the_grid(place: npt.NDArray[np.float64]) -> list[int]:
    """The cheapest rising row of grid places (dynamic programming over the nearest few of each note)."""
    choices = [[t for t in range(math.floor(p) - 5, math.ceil(p) + 6) if t % TICKS in _PLACE_COST] for p in place]
    costs = [_grid_cost(place[0], t) for t in choices[0]]
    back: list[list[int]] = []
    for k in range(1, len(place)):
        row_costs, row_back = [], []
        for t in choices[k]:
            steps = [
                cost + _VALUE_COST.get(t - s, _RARE_VALUE) + _mixed(s, t) if t > s else cost + 50.0
                for s, cost in zip(choices[k - 1], costs, strict=True)
            ]
            best = int(np.argmin(steps))
            row_costs.append(steps[best] + _grid_cost(place[k], t))
            row_back.append(best)
        costs = row_costs
        back.append(row_back)
    at = int(np.argmin(costs))
    ticks = [choices[-1][at]]
    for k in range(len(place) - 1, 0, -1):
        at = back[k - 1][at]
        ticks.append(choices[k - 1][at])
    return ticks[::-1]


def _grid_cost(place: float, tick: int) -> float:
    return (place - tick) ** 2 / (2 * _TAP_SPREAD**2) + _PLACE_COST[tick % TICKS]
