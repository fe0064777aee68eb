"""Does the tune breathe between phrases?

Conventions
    A breath is time taken, or the note let go before the next phrase, or both. Both are set against what this hand
    does inside its phrases, so a detached take does not breathe by being detached.

Findings
    breath_time (%): how much longer than the neighbouring steps lead one to expect the steps across phrase ends last,
        mean over the phrase ends; interval from the scatter of the steps inside.
    breath_air (1): share of the step across a phrase end that is silent in the upper hand, beyond the mean share
        inside phrases and beyond a written rest; interval likewise.
    breath (count): the phrase ends that breathe clearly; the ``how`` of each place says "time", "let go" or "both".

References
    Limits are common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Heard
from keysense.findings.stats import Estimate, t_quantile
from keysense.findings.steps import Steps, shape_of, steady_shape, steps_of
from keysense.findings.touch import share_of, touches_of
from keysense.units import Unit

__all__ = ["breath_parts", "breaths"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
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
    breathing = tuple(place for place in places if place.how)
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
    ends = phrase[steps.first[crossing]]
    nothing = Estimate(None, None, None, len(ends))
    places = [Place((int(events.bar[k]), int(events.bar[k]))) for k in steps.first[crossing]]
    inside = steps.steady
    air = _air_left(heard)
    if not len(ends) or np.count_nonzero(inside) < _FEWEST_INSIDE or air is None:
        return nothing, nothing, places
    marked = len(heard.target.phrases) > 0
    shape = steady_shape(heard, steps) if marked else shape_of(steps, inside, has_phrases=True)
    taken = _time_taken(steps, inside, shape, crossing, ends)
    return _percent(taken.mean()), air.mean(), _said(heard, places, taken, air)


@dataclass(frozen=True)
class _AtEnds:
    """A figure at each phrase end, set against the steps inside: its scatter there, and what that is known from.

    phrase: the phrase that ends. share: how much of one inside step's error the mean over the phrase ends takes along,
    as a sum of squares.
    """

    phrase: Ints
    values: Floats
    sd: float
    df: int
    share: float

    def mean(self) -> Estimate:
        n = len(self.values)
        mean, se = float(self.values.mean()), self.sd * math.sqrt(1 / n + self.share)
        half = t_quantile(self.df) * se
        return Estimate(mean, mean - half, mean + half, n, se, self.df)

    def clear(self, least: float, scatters: float) -> set[int]:
        """The phrases at whose end the figure is above the least and above so many scatters of the steps inside."""
        return set(self.phrase[self.values > max(least, scatters * self.sd)].tolist())


def _air_left(heard: Heard) -> _AtEnds | None:
    """Silent share of the steps across phrase ends beyond a written rest and beyond the usual share inside.

    Of the upper hand; of the lower one where the upper tells of no phrase end. None where neither does.
    """
    for hand in heard.hands:
        touches = touches_of(heard, hand)
        air = -share_of(touches) - touches["rest"]
        ends = touches["phrase_end"]
        inside = touches["usable"] & ~ends
        n = int(np.count_nonzero(inside))
        if np.any(ends) and n >= _FEWEST_INSIDE:
            usual, sd = float(air[inside].mean()), float(air[inside].std(ddof=1))
            return _AtEnds(touches["phrase"][ends], air[ends] - usual, sd, n - 1, 1 / n)
    return None


def _time_taken(steps: Steps, inside: Bools, shape: tuple[Floats, int], crossing: Bools, ends: Ints) -> _AtEnds:
    """ln of how much longer each crossing step is than the mean of the eight steady steps of its pace nearest to it."""
    x, y = steps.start[inside], steps.y[inside]
    fitted, p = shape
    df = max(1, len(y) - p)
    taken, weight = np.zeros(len(ends)), np.zeros(len(y))
    pace, own = steps.stretch[crossing], steps.stretch[inside]
    for stretch in np.unique(pace):
        ours = pace == stretch
        rows = np.flatnonzero(own == stretch)
        rows = rows if len(rows) >= _NEIGHBOURS // 2 else np.arange(len(x))
        near = rows[_nearest(x[rows], steps.start[crossing][ours])]
        taken[ours] = steps.y[crossing][ours] - y[near].mean(axis=1)
        weight += np.bincount(near.ravel(), minlength=len(y)) / near.shape[1] / len(ends)
    residual = y - fitted
    return _AtEnds(ends, taken, math.sqrt(float(residual @ residual) / df), df, float(weight @ weight))


def _nearest(x: Floats, at: Floats) -> Ints:
    """The eight of some places in order that are nearest to each of some others (all, where there are fewer)."""
    first = np.clip(np.searchsorted(x, at) - _NEIGHBOURS, 0, max(0, len(x) - 2 * _NEIGHBOURS))
    about = first[:, None] + np.arange(min(2 * _NEIGHBOURS, len(x)))
    order = np.argsort(np.abs(x[about] - at[:, None]), axis=1, kind="stable")[:, :_NEIGHBOURS]
    return np.asarray(np.take_along_axis(about, order, axis=1), np.int64)


def _percent(e: Estimate) -> Estimate:
    value, low, high = (100 * math.expm1(v) for v in e.whole())
    return Estimate(value, low, high, e.n, 100 * e.se, e.df)


def _said(heard: Heard, places: list[Place], time: _AtEnds, air: _AtEnds) -> list[Place]:
    """Each place with how it breathes."""
    scatters = heard.practice.value("breath_scatters")
    by_time = time.clear(math.log1p(heard.practice.value("breath_time") / 100), scatters)
    by_air = air.clear(heard.practice.value("breath_air"), scatters)
    words = [_WORDS[number in by_time, number in by_air] for number in time.phrase.tolist()]
    return [Place(place.bars, place.hand, how=word) for place, word in zip(places, words, strict=True)]


_WORDS = {(True, True): "both", (True, False): "time", (False, True): "let go", (False, False): ""}
