"""How loud is each hand, and how far apart are its soft and its loud notes?

Conventions
    Loudness is MIDI velocity, 0 to 127, of every note of the hand but grace notes, and means only what this piano makes
    of it; which of two takes is louder is a question of `keysense.comparing`.

Findings
    loudness (velocity): mean of the velocities of one hand; Student's interval on their scatter about the hand's own
        line (a quadratic a phrase), as if the same line were played again, the keys of a chord taken together; one row
        a hand; missing below three onsets, and where the piano sends one velocity.
    loudness_range (velocity): 95th minus 5th percentile of the velocities of one hand: what it used of the piano's
        range. The interval holds what the same line with the same scatter would give again (the large-sample error of
        two percentiles of normal values that lie about a line, Student's at its degrees of freedom); one row a hand.
        Missing below 24 notes, or with fewer than eight degrees of freedom. Simulated: it holds 95 to 97 % at 24 to 200
        notes, on a level, a rising and a stepped line.

References
    The span of all velocities grows with the number of notes (5 notes 2.3 SD, 50 notes 4.5 SD, computed), hence
    percentiles, by Hyndman & Fan 1996, type 8 (memory). Error of percentiles: Serfling 1980 (memory).
    Velocity has no fixed loudness (General MIDI leaves it open; two public libraries put p at 44 and at 50, computed),
    so there is no limit.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Heard, hand_or_none
from keysense.findings.loudness import ONE_VELOCITY, line_of, line_of_events, one_velocity
from keysense.findings.stats import normal_quantile, t_quantile

__all__ = ["loudness_level"]

Floats = npt.NDArray[np.float64]

_FEWEST = 3
_FEWEST_ABOUT_LINE = 8
_FEWEST_FOR_RANGE = 24
_TAIL = 0.05
_NEAR = 1e-6  # quarters
_STEPS, _LEAST = 2, 1e-6
_THINNEST = 0.02  # a fifth of how densely normal values lie there: between two levels hardly any lie


def loudness_level(heard: Heard) -> list[Finding]:
    """The mean velocity of each hand, and its range."""
    return [row for hand in heard.hands for row in _of_hand(heard, hand)]


def _of_hand(heard: Heard, hand: str) -> list[Finding]:
    rows, index = heard.rows, heard.sounded(hand)
    velocity, n = rows["velocity"][index], len(index)
    place = Place(heard.bars_of(rows["bar"][index]), hand_or_none(hand))
    struck = len(heard.hand_events[hand])
    if one_velocity(heard) or struck < _FEWEST:
        why = ONE_VELOCITY if one_velocity(heard) else f"it takes {_FEWEST} notes, and {struck} came"
        return [Finding.missing(name, "velocity", why, n=n, place=place) for name in ("loudness", "loudness_range")]
    events = heard.hand_events[hand]
    if len(events) == n:
        fitted, p = line_of_events(heard, events)
    else:
        fitted, p = line_of(heard, rows["quarter"][index], velocity, rows["passing"][index])
    reach = _range(velocity, fitted, n - p, place)
    if len(events) - p < _FEWEST_ABOUT_LINE:
        fitted, p = velocity.mean(), 1
    mean = float(velocity.mean())
    half = _half(velocity - fitted, np.searchsorted(events.quarter, rows["quarter"][index] - _NEAR), len(events), p)
    return [Finding("loudness", mean, "velocity", n, mean - half, mean + half, None, place), reach]


def _half(off: Floats, event: npt.NDArray[np.int64], events: int, p: int) -> float:
    """Half the interval of the mean: the keys of one chord are struck by one arm, and err together."""
    df = events - p
    together = np.bincount(event, off, events)
    return t_quantile(df) * math.sqrt(float(together @ together) * events / df) / len(off)


def _range(velocity: Floats, fitted: Floats, df: int, place: Place) -> Finding:
    name, n = "loudness_range", len(velocity)
    if n < _FEWEST_FOR_RANGE or df < _FEWEST_ABOUT_LINE:
        why = f"it takes {_FEWEST_FOR_RANGE} notes, and more than the line's shape needs, and {n} came"
        return Finding.missing(name, "velocity", why, n=n, place=place)
    low, high = np.percentile(velocity, (100 * _TAIL, 100 * (1 - _TAIL)), method="median_unbiased").tolist()
    half = t_quantile(df) * _error_of_range(velocity, fitted, df)
    return Finding(name, high - low, "velocity", n, max(0.0, high - low - half), high - low + half, None, place)


def _error_of_range(velocity: Floats, fitted: Floats, df: int) -> float:
    """The standard error of the two percentiles' difference, were the line played again with the same scatter."""
    n, middle = len(velocity), float(fitted.mean())
    scatter = math.sqrt(float(((velocity - fitted) ** 2).sum()) / df)
    if scatter < _LEAST:
        return 0.0
    bends = float(((fitted - middle) ** 2).mean())
    own = max(0.0, bends - scatter**2 * (n - df - 1) / n)  # a fitted line goes along with some of the scatter
    line = middle + (fitted - middle) * math.sqrt(own / bends if bends > 0 else 0.0)
    share, height = _about(_ends(line, scatter), line, scatter)
    height = np.maximum(height, _THINNEST * n / math.hypot(float(line.std()), scatter))
    alone = (share * (1 - share)).sum(axis=1) / height**2
    both = float((share[0] * (1 - share[1])).sum() / height[0] / height[1])
    return math.sqrt(max(0.0, float(alone.sum()) - 2 * both))


def _ends(line: Floats, scatter: float) -> Floats:
    """Where the softest and the loudest twentieth of such values begin: a few steps of Newton's."""
    wide = -normal_quantile(_TAIL) * math.sqrt(float(line.var()) + scatter**2)
    ends: Floats = line.mean() + wide * np.array([-1.0, 1.0])
    for _ in range(_STEPS):
        share, height = _about(ends, line, scatter)
        off = (share.mean(axis=1) - (_TAIL, 1 - _TAIL)) * len(line) / np.maximum(height, _LEAST)
        ends = ends - np.clip(off, -scatter, scatter)
    return ends


def _about(at: Floats, line: Floats, scatter: float) -> tuple[Floats, Floats]:
    """Of normal values about a line: how often each lies below each place, and how densely all of them lie there."""
    from scipy.special import ndtr

    away = (at[:, None] - line) / scatter
    return np.asarray(ndtr(away)), np.exp(-(away**2) / 2).sum(axis=1) / scatter / math.sqrt(2 * math.pi)
