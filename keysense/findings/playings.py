"""The same run several times in one take: what is uneven each time alike, and what is unlike from time to time?

Conventions
    A run is eight notes or more of one written value in one hand, no rest between. Where the page writes the same keys
    again (a warm-up of eight notes written eight times), each time is a playing; so is each time a run is gone back to.
    A playing in which a note is missing, or in which a step is a wait by the limit of `wait`, is left out. The
    last bar is, too: time may be taken there.

Findings
    run_unevenness (ms): root mean square of the deviation from a straight line that the playings have in common.
    run_instability (ms): how far the playings lie from each other at a note, the mean of the standard deviations.
    One row each a run and hand that was played twice or more; missing below four playings, where no interval can be
    had, and where freedom of time was asked. Intervals: see `keysense.findings.repeated`.

References
    van Vugt, Jabusch, Altenmueller 2012, Front Psychol 3:495 (method).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Heard, hand_or_none
from keysense.findings.repeated import repeated_runs
from keysense.findings.tempo import FREE

__all__ = ["runs_played_again"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
_SHORTEST, _LONGEST = 8, 64  # notes of a run
_FEWEST = 4  # playings
_EQUAL = 1e-3


@dataclass(frozen=True)
class _Line:
    """The written onsets of one hand: quarter, keys (one number an onset for what is struck there), bar."""

    quarter: Floats
    keys: Ints
    bar: Ints


def runs_played_again(heard: Heard) -> list[Finding]:
    """run_unevenness and run_instability of each run that was played twice or more."""
    rows: list[Finding] = []
    longest = heard.practice.value("wait")
    for hand in heard.hands:
        line = _line(heard, hand)
        playings = _playings(heard, hand, line.quarter)
        for runs in _alike(heard, line):
            onsets = _steady(playings[:, np.array([np.arange(run.start, run.stop) for run in runs])], longest)
            if len(onsets) >= 2:
                rows += _of_run(heard, hand, line, runs, onsets)
    return rows


def _of_run(heard: Heard, hand: str, line: _Line, runs: list[slice], onset_s: Floats) -> list[Finding]:
    n = len(onset_s)
    bars = int(line.bar[runs[0]].min()), int(line.bar[runs[-1]].max())
    place = Place(bars, hand_or_none(hand))
    found = repeated_runs(1000 * onset_s)
    if heard.free or n < _FEWEST or found is None or found.uneven is None or found.unstable is None:
        why = FREE if heard.free else f"it takes {_FEWEST} playings of one run, and {n} came"
        return [Finding.missing(name, "ms", why, n=n, place=place) for name in ("run_unevenness", "run_instability")]
    return [
        Finding("run_unevenness", found.unevenness_ms, "ms", n, *found.uneven, None, place),
        Finding("run_instability", found.instability_ms, "ms", n, *found.unstable, None, place),
    ]


def _line(heard: Heard, hand: str) -> _Line:
    notes, onset, of_hand = heard.target.notes, heard.asked_onsets(hand), heard.asked(hand)
    first = np.flatnonzero(np.diff(onset, prepend=-np.inf))
    quarter = onset[first]
    at = np.searchsorted(quarter, onset)
    pitch = notes["pitch"][of_hand].astype(float)
    keys = np.bincount(at, pitch**2 + 131 * pitch, len(quarter))  # equal for equal keys
    return _Line(quarter, keys.astype(np.int64), notes["bar"][of_hand[first]].astype(np.int64))


def _alike(heard: Heard, line: _Line) -> list[list[slice]]:
    """Runs of equal values before the last bar, those with the same keys together; long ones cut where they repeat."""
    step = np.diff(line.quarter)
    turns = np.flatnonzero(np.abs(np.diff(step)) > _EQUAL) + 1
    edges = [0, *turns.tolist(), len(step)]
    groups: dict[tuple[float, bytes], list[slice]] = {}
    for first, after in pairwise(edges):
        last = min(after + 1, int(np.searchsorted(line.quarter, heard.last_bar_quarter - _EQUAL)))
        if last - first < _SHORTEST:
            continue
        for run in _cut(line.keys, first, last):
            key = (round(float(step[first]), 4), line.keys[run].tobytes())
            groups.setdefault(key, []).append(run)
    return list(groups.values())


def _cut(keys: Ints, first: int, last: int) -> list[slice]:
    """A run in its playings: by the shortest stretch that it repeats, else the whole."""
    run = keys[first:last]
    for size in range(_SHORTEST, min(_LONGEST, len(run) // 2) + 1):
        if np.array_equal(run[size:], run[:-size]):
            return [slice(k, k + size) for k in range(first, last - size + 1, size)]
    return [slice(first, last)] if len(run) <= _LONGEST else []


def _playings(heard: Heard, hand: str, quarter: Floats) -> Floats:
    """For each pass (row) the time of each written onset, NaN where it did not sound in it."""
    pairs, notes = heard.following.pairs, heard.target.notes
    target, played = pairs["target"], pairs["played"]
    followed = (target >= 0) & (played >= 0)
    target, played = target[followed], played[followed]
    of_hand = (notes["hand"][target] == hand) & ~notes["is_grace"][target]
    target, played = target[of_hand], played[of_hand]
    starts = np.array(sorted(p["first_played"] for p in heard.following.passes), np.int64)
    passing = np.clip(np.searchsorted(starts, played, side="right") - 1, 0, None)
    at = np.searchsorted(quarter, np.round(notes["onset_quarter"][target], 6))
    onset = heard.take.notes["onset_s"][played]
    times = np.full((max(1, len(starts)), len(quarter)), np.inf)
    np.minimum.at(times, (passing, at), onset)
    return np.where(np.isinf(times), np.nan, times)


def _steady(onset_s: Floats, longest: float) -> Floats:
    """The playings of which every note was heard, in order, and none waited for: no step so many times the usual."""
    onset_s = onset_s.reshape(-1, onset_s.shape[-1])
    onset_s = onset_s[~np.any(np.isnan(onset_s), axis=1)]
    step = np.diff(onset_s, axis=1)
    return np.asarray(onset_s[(step.min(axis=1) > 0) & (step.max(axis=1) < longest * np.median(step, axis=1))])
