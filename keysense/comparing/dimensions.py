"""Two takes of one tune, dimension by dimension: a figure for each and the difference, b minus a.

Conventions
    Notes and steps that both takes have are compared in pairs, so that what the tune itself asks for falls away.

Findings
    tempo (quarters/min): as of one take; the difference from paired log periods.
    loudness (velocity): mean velocity of the shared notes.
    contrast (velocity): how far apart the soft and the loud notes are, 95th minus 5th percentile.
    touch (1): mean key-down share of the steps inside phrases; no repeated notes, no pedal, no wait.
    evenness, breath: see `keysense.comparing.pulses`.

References
    The span of velocities grows with the number of notes (5 notes 2.3 SD, 50 notes 4.5 SD, computed), hence
    percentiles. Interval of a difference from separate intervals: Donner & Zou 2012 (memory).
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from keysense.comparing.compared import Compared, apart, compared, not_compared, shared
from keysense.comparing.pulses import breath, evenness
from keysense.findings.heard import Heard
from keysense.findings.loudness import ONE_VELOCITY, one_velocity
from keysense.findings.stats import Estimate, mean_of, t_quantile
from keysense.findings.steps import steps_of
from keysense.findings.tempo import tempo
from keysense.findings.touch import hold_of, touches_of

__all__ = ["MEASURES"]

Floats = npt.NDArray[np.float64]
_FEWEST = 4


def _tempo(a: Heard, b: Heard) -> Compared:
    steps_a, steps_b = steps_of(a, a.all_events), steps_of(b, b.all_events)
    use_a, use_b = np.flatnonzero(steps_a.steady), np.flatnonzero(steps_b.steady)
    in_a, in_b = shared(np.round(steps_a.start[use_a], 6), np.round(steps_b.start[use_b], 6))
    one, other = tempo(a)[0], tempo(b)[0]
    if one.value is None or other.value is None or len(in_a) < _FEWEST:
        return not_compared("tempo", f"it takes {_FEWEST} steady steps of both takes, and {len(in_a)} came", len(in_a))
    ratio = mean_of(steps_a.y[use_a[in_a]] - steps_b.y[use_b[in_b]])
    middle = math.sqrt(one.value * other.value)
    half = middle * t_quantile(ratio.df) * ratio.se
    value = other.value - one.value
    difference = Estimate(value, value - half, value + half, ratio.n, middle * ratio.se, ratio.df)
    step, clear = (middle * a.practice.value(f"tempo_{row}") / 100 for row in ("step", "clear"))
    return Compared(one, other, difference, step, clear)


def _paired_velocities(a: Heard, b: Heard) -> tuple[Floats, Floats]:
    rows_a, rows_b = a.rows[~a.rows["grace"]], b.rows[~b.rows["grace"]]
    in_a, in_b = shared(a.ids_of(rows_a), b.ids_of(rows_b))
    return rows_a["velocity"][in_a], rows_b["velocity"][in_b]


def _why_no_loudness(a: Heard, b: Heard, n: int, needed: int) -> str:
    if one_velocity(a) or one_velocity(b):
        return ONE_VELOCITY
    return f"it takes {needed} notes of both takes, and {n} came" if n < needed else ""


def _loudness(a: Heard, b: Heard) -> Compared:
    one, other = _paired_velocities(a, b)
    if why := _why_no_loudness(a, b, len(one), _FEWEST):
        return not_compared("loudness", why, len(one))
    step, clear = a.practice.value("loudness_step"), a.practice.value("loudness_clear")
    pair = (mean_of(one), mean_of(other))
    return compared("loudness", "velocity", pair, mean_of(other - one), step, clear)


def _contrast(a: Heard, b: Heard) -> Compared:
    one, other = _paired_velocities(a, b)
    if why := _why_no_loudness(a, b, len(one), 2 * _FEWEST):
        return not_compared("contrast", why, len(one))
    spans = _span(one), _span(other)
    step, clear = a.practice.value("contrast_step"), a.practice.value("contrast_clear")
    return compared("contrast", "velocity", spans, apart(*spans), step, clear)


def _span(velocity: Floats) -> Estimate:
    """95th minus 5th percentile; its error from how heavy the tails are, on the log scale so that it stays above 0."""
    n = len(velocity)
    low, high = np.percentile(velocity, (5, 95))
    centred = velocity - velocity.mean()
    variance = max(float(np.mean(centred**2)), 1e-9)
    kurtosis = float(np.mean(centred**4)) / variance**2
    relative = max(1.25 * math.sqrt(max(kurtosis - 1, 0) / 4), 0.35) / math.sqrt(n)
    value = max(float(high - low), 1e-6)
    half = t_quantile(n - 1) * relative
    return Estimate(value, value * math.exp(-half), value * math.exp(half), n, value * relative, n - 1)


def _touch(a: Heard, b: Heard) -> Compared:
    (ids_a, hold_a), (ids_b, hold_b) = _holds(a), _holds(b)
    in_a, in_b = shared(ids_a, ids_b)
    n = len(in_a)
    if n < _FEWEST:
        why = f"it takes {_FEWEST} steps of both takes where fingers can be judged, and {n} came"
        return not_compared("touch", why, n)
    step, clear = a.practice.value("touch_step"), a.practice.value("touch_clear")
    pair = (mean_of(hold_a[in_a]), mean_of(hold_b[in_b]))
    return compared("touch", "1", pair, mean_of(hold_b[in_b] - hold_a[in_a]), step, clear)


def _holds(heard: Heard) -> tuple[npt.NDArray[np.str_], Floats]:
    """Ids and key-down shares of the notes whose touch can be judged, both hands."""
    ids, holds = [np.zeros(0, "U64")], [np.zeros(0)]
    for touches in (touches_of(heard, hand) for hand in heard.hands):
        judged = touches["usable"] & ~touches["repeated"] & ~touches["pedal"] & ~touches["phrase_end"]
        ids.append(heard.ids_of(touches[judged]))
        holds.append(hold_of(touches[judged], heard.practice.value("hold_most")))
    return np.concatenate(ids), np.concatenate(holds)


MEASURES = {
    "tempo": _tempo,
    "loudness": _loudness,
    "contrast": _contrast,
    "touch": _touch,
    "evenness": evenness,
    "breath": breath,
}
