"""Two takes of one tune, dimension by dimension: a figure for each and the difference, b minus a.

Conventions
    Notes and steps that both takes have are compared in pairs, so that what the tune itself asks for falls away; the
    figures of each take are of the same notes and steps. Where the differences wander from step to step their
    intervals are wider (`keysense.comparing.wandering`).

Findings
    tempo (quarters/min): geometric means over the steps that are steady in both takes (below four of them, over all
        that are no wait); the difference from paired log periods.
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

from keysense.comparing.compared import Compared, Rows, apart, compared, not_compared, shared, shared_steps
from keysense.comparing.pulses import breath, evenness
from keysense.comparing.wandering import carried_on, mean_of_pairs, of_variance
from keysense.findings.heard import Heard
from keysense.findings.loudness import ONE_VELOCITY, one_velocity
from keysense.findings.stats import Estimate, chance_of, mean_of, t_quantile
from keysense.findings.steps import Steps, shape_of, steps_of
from keysense.findings.touch import hold_of, touches_of

__all__ = ["MEASURES"]

Floats = npt.NDArray[np.float64]
_FEWEST = 4
_FEWEST_DF = 3.0
_FEWEST_BESIDE_SHAPE = 8


def _tempo(a: Heard, b: Heard) -> Compared:
    steps = steps_of(a, a.all_events), steps_of(b, b.all_events)
    rows = shared_steps(*steps, *(s.steady for s in steps))
    if len(rows[0]) < _FEWEST:  # a close that both take alike falls away between them
        rows = shared_steps(*steps, *(~(s.long | s.short) for s in steps))
    n = len(rows[0])
    if n < _FEWEST:
        return not_compared("tempo", f"it takes {_FEWEST} steady steps of both takes, and {n} came", n)
    at, phrase = steps[0].start[rows[0]], steps[0].phrase[rows[0]]
    ratio = mean_of_pairs(steps[0].y[rows[0]] - steps[1].y[rows[1]], at, phrase)
    one, other = (_pace(heard, of, kept) for heard, of, kept in zip((a, b), steps, rows, strict=True))
    middle = math.sqrt(one.whole()[0] * other.whole()[0])
    value, low, high = (2 * middle * math.sinh(r / 2) for r in ratio.whole())
    difference = Estimate(value, low, high, n, middle * ratio.se, ratio.df)
    p = chance_of(ratio.whole()[0], ratio.se, ratio.df)
    step, clear = (middle * a.practice.value(f"tempo_{row}") / 100 for row in ("step", "clear"))
    return compared("tempo", "quarters/min", (one, other), difference, step, clear, p)


def _pace(heard: Heard, steps: Steps, rows: Rows) -> Estimate:
    """Quarters a minute over some steps; the interval from what is left beside the shape of the phrases."""
    use = np.zeros(len(steps.y), bool)
    use[rows] = True
    y = steps.y[use]
    fitted, p = shape_of(steps, use, has_phrases=len(heard.target.phrases) > 0)
    residual, df = (y - fitted, len(y) - p) if len(y) - p >= _FEWEST_BESIDE_SHAPE else (y - y.mean(), len(y) - 1)
    half = t_quantile(df) * math.sqrt(float(residual @ residual) / df / len(y))
    value, low, high = (60 * math.exp(-float(y.mean()) + off) for off in (0, -half, half))
    return Estimate(value, low, high, len(y))


def _paired_velocities(a: Heard, b: Heard) -> tuple[Floats, Floats, Floats]:
    """The velocities of the notes that both have, and where those stand in quarters."""
    rows_a, rows_b = a.rows[~a.rows["grace"]], b.rows[~b.rows["grace"]]
    in_a, in_b = shared(rows_a["target"], rows_b["target"])
    return rows_a["velocity"][in_a], rows_b["velocity"][in_b], rows_a["quarter"][in_a]


def _struck_together(a: Heard, b: Heard) -> tuple[Floats, Floats, Floats]:
    """The same, the keys of one hand and onset taken together: one arm strikes them, and they err together."""
    rows_a, rows_b = a.rows[~a.rows["grace"]], b.rows[~b.rows["grace"]]
    in_a, in_b = shared(rows_a["target"], rows_b["target"])
    of = rows_a[["quarter", "hand"]][in_a]
    struck, group, count = np.unique(of, return_inverse=True, return_counts=True)
    one, other = (np.bincount(group, rows["velocity"][at]) / count for rows, at in ((rows_a, in_a), (rows_b, in_b)))
    return one, other, np.ascontiguousarray(struck["quarter"])


def _why_no_loudness(a: Heard, b: Heard, n: int, needed: int) -> str:
    if one_velocity(a) or one_velocity(b):
        return ONE_VELOCITY
    return f"it takes {needed} notes of both takes, and {n} came" if n < needed else ""


def _loudness(a: Heard, b: Heard) -> Compared:
    one, other, at = _struck_together(a, b)
    if why := _why_no_loudness(a, b, len(one), _FEWEST):
        return not_compared("loudness", why, len(one))
    step, clear = a.practice.value("loudness_step"), a.practice.value("loudness_clear")
    pair = (mean_of(one), mean_of(other))
    difference = mean_of_pairs(other - one, at, a.phrase_of(at))
    return compared("loudness", "velocity", pair, difference, step, clear)


def _contrast(a: Heard, b: Heard) -> Compared:
    one, other, at = _paired_velocities(a, b)
    if why := _why_no_loudness(a, b, len(one), 2 * _FEWEST):
        return not_compared("contrast", why, len(one))
    share = of_variance(carried_on(other - one, at, a.phrase_of(at)))
    spans = _span(one, share), _span(other, share)
    step, clear = a.practice.value("contrast_step"), a.practice.value("contrast_clear")
    return compared("contrast", "velocity", spans, apart(*spans), step, clear)


def _span(velocity: Floats, share: float) -> Estimate:
    """95th minus 5th percentile; its error from how heavy the tails are, on the log scale so that it stays above 0.

    share: so much of each note tells something new of the spread, where the playing wanders.
    """
    n = len(velocity)
    low, high = np.percentile(velocity, (5, 95))
    centred = velocity - velocity.mean()
    variance = max(float(np.mean(centred**2)), 1e-9)
    kurtosis = float(np.mean(centred**4)) / variance**2
    relative = max(1.25 * math.sqrt(max(kurtosis - 1, 0) / 4), 0.35) / math.sqrt(n * share)
    value, df = max(float(high - low), 1e-6), max(_FEWEST_DF, n * share - 1)
    half = t_quantile(df) * relative
    return Estimate(value, value * math.exp(-half), value * math.exp(half), n, value * relative, df)


def _touch(a: Heard, b: Heard) -> Compared:
    (notes_a, hold_a), (notes_b, hold_b) = _holds(a), _holds(b)
    in_a, in_b = shared(notes_a, notes_b)
    at = a.target.notes["onset_quarter"][notes_a[in_a]]
    n = len(in_a)
    if n < _FEWEST:
        why = f"it takes {_FEWEST} steps of both takes where fingers can be judged, and {n} came"
        return not_compared("touch", why, n)
    step, clear = a.practice.value("touch_step"), a.practice.value("touch_clear")
    pair = (mean_of(hold_a[in_a]), mean_of(hold_b[in_b]))
    difference = mean_of_pairs(hold_b[in_b] - hold_a[in_a], at, a.phrase_of(at))
    return compared("touch", "1", pair, difference, step, clear)


def _holds(heard: Heard) -> tuple[Rows, Floats]:
    """Rows of the target and key-down shares of the notes whose touch can be judged, both hands."""
    notes, holds = [np.zeros(0, np.intp)], [np.zeros(0)]
    for touches in (touches_of(heard, hand) for hand in heard.hands):
        judged = touches["usable"] & ~touches["repeated"] & ~touches["pedal"] & ~touches["phrase_end"]
        notes.append(touches["target"][judged].astype(np.intp))
        holds.append(hold_of(touches[judged], heard.practice.value("hold_most")))
    return np.concatenate(notes), np.concatenate(holds)


MEASURES = {
    "tempo": _tempo,
    "loudness": _loudness,
    "contrast": _contrast,
    "touch": _touch,
    "evenness": evenness,
    "breath": breath,
}
