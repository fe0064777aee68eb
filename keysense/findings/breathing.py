"""Does the tune breathe between phrases?

Conventions
    A breath is time taken, or the note let go before the next phrase, or both. Both are set against what this hand
    does inside its phrases, so a detached take does not breathe by being detached.

Findings
    breath_time (%): how much longer than the neighbouring steps lead one to expect the steps across phrase ends last,
        mean over the phrase ends; interval from the scatter of the steps inside.
    breath_air (1): share of the step across a phrase end that is silent, beyond the mean share inside phrases and
        beyond a written rest; interval likewise.
    breath (count): the phrase ends that breathe clearly; the mark of each place says "time", "let go" or "both".

References
    Limits are common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Events, Heard
from keysense.findings.shape import blocks_of, fit_by_block
from keysense.findings.stats import Estimate, t_quantile
from keysense.findings.steps import Steps, steps_of
from keysense.units import Unit

__all__ = ["breath_parts", "breaths"]

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
NO_PHRASES = "no two phrases are marked and were heard"
_FEWEST_INSIDE = 6
_NEIGHBOURS = 8


def breaths(heard: Heard) -> list[Finding]:
    """breath, breath_time and breath_air, both hands together."""
    time, air, places = breath_parts(heard)
    if not places or time.value is None or air.value is None:
        why = NO_PHRASES if not places else "too few steps inside the phrases were heard"
        return [Finding.missing(name, unit, why) for name, unit in _NAMES]
    breathing = tuple(place for place in places if place.mark)
    return [
        Finding("breath", len(breathing), "count", len(places), places=breathing),
        Finding("breath_time", time.value, "%", time.n, time.low, time.high),
        Finding("breath_air", air.value, "1", air.n, air.low, air.high),
    ]


_NAMES: tuple[tuple[str, Unit], ...] = (("breath", "count"), ("breath_time", "%"), ("breath_air", "1"))


def breath_parts(heard: Heard) -> tuple[Estimate, Estimate, list[Place]]:
    """Time taken (%), air (share), and one place a phrase end, its mark empty where it does not breathe."""
    events = heard.all_events
    steps = steps_of(heard, events)
    phrase = heard.phrase_of(events.quarter)
    crossing = phrase[steps.first] != phrase[steps.second]
    inside = steps.steady & ~crossing
    nothing = Estimate(None, None, None, int(np.count_nonzero(crossing)))
    if not np.any(crossing):
        return nothing, nothing, []
    places = [Place((int(events.bar[k]), int(events.bar[k]))) for k in steps.first[crossing]]
    if np.count_nonzero(inside) < _FEWEST_INSIDE:
        return nothing, nothing, places
    taken = _time_taken(steps, inside, crossing)
    air = _air_left(events, steps, inside, crossing)
    return _percent(taken.mean()), air.mean(), _said(heard, places, taken, air)


@dataclass(frozen=True)
class _AtEnds:
    """A figure at each phrase end, set against the steps inside: its scatter there, and what that is known from.

    share: how much of one inside step's error the mean over the phrase ends takes along, as a sum of squares.
    """

    values: Floats
    sd: float
    df: int
    share: float

    def mean(self) -> Estimate:
        n = len(self.values)
        mean, se = float(self.values.mean()), self.sd * math.sqrt(1 / n + self.share)
        half = t_quantile(self.df) * se
        return Estimate(mean, mean - half, mean + half, n, se, self.df)


def _air_left(events: Events, steps: Steps, inside: Bools, crossing: Bools) -> _AtEnds:
    """Silent share of the steps across phrase ends beyond a written rest and beyond the usual share inside."""
    silent = (events.time_s[steps.second] - events.release_s[steps.first]) / steps.seconds
    written = np.maximum(0, events.quarter[steps.second] - events.end_quarter[steps.first]) / steps.length
    air = silent - written
    n = int(np.count_nonzero(inside))
    return _AtEnds(air[crossing] - float(air[inside].mean()), float(air[inside].std(ddof=1)), n - 1, 1 / n)


def _time_taken(steps: Steps, inside: Bools, crossing: Bools) -> _AtEnds:
    """ln of how much longer each crossing step is than the mean of the eight steady steps nearest to it."""
    x, y = steps.start[inside], steps.y[inside]
    fitted, p = fit_by_block(x, y, blocks_of(steps.phrase[inside], steps.stretch[inside], has_phrases=True))
    df = max(1, len(y) - p)
    near = np.argsort(np.abs(x[None, :] - steps.start[crossing][:, None]), axis=1, kind="stable")[:, :_NEIGHBOURS]
    taken = steps.y[crossing] - y[near].mean(axis=1)
    weight = np.bincount(near.ravel(), minlength=len(y)) / near.size
    residual = y - fitted
    return _AtEnds(taken, math.sqrt(float(residual @ residual) / df), df, float(weight @ weight))


def _percent(e: Estimate) -> Estimate:
    value, low, high = (100 * math.expm1(v) for v in e.whole())
    return Estimate(value, low, high, e.n, 100 * e.se, e.df)


def _said(heard: Heard, places: list[Place], time: _AtEnds, air: _AtEnds) -> list[Place]:
    least_time = math.log1p(heard.practice.value("breath_time") / 100)
    least_air = heard.practice.value("breath_air")
    by_time = time.values > max(least_time, 2 * time.sd)
    by_air = air.values > max(least_air, 2 * air.sd)
    words = np.where(by_time & by_air, "both", np.where(by_time, "time", np.where(by_air, "let go", "")))
    return [Place(place.bars, place.hand, str(word) or None) for place, word in zip(places, words, strict=True)]
