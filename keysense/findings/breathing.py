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

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Heard
from keysense.findings.shape import blocks_of, fit_by_block
from keysense.findings.stats import Estimate, t_quantile
from keysense.findings.steps import Steps, steps_of
from keysense.units import Unit

__all__ = ["breath_parts", "breaths"]

Floats = npt.NDArray[np.float64]
NO_PHRASES = "no two phrases are marked and were heard"
_FEWEST_INSIDE = 6


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
    taken, taken_sd, taken_df = _time_taken(steps, inside, crossing, phrase)
    share = (events.time_s[steps.second] - events.release_s[steps.first]) / steps.seconds
    written = np.maximum(0, events.quarter[steps.second] - events.end_quarter[steps.first]) / steps.length
    air = share - written
    usual = float(air[inside].mean())
    air_sd, air_df = float(air[inside].std(ddof=1)), int(np.count_nonzero(inside)) - 1
    time_e = _beyond(taken, taken_sd, taken_df)
    air_e = _beyond(air[crossing] - usual, air_sd, air_df)
    return _percent(time_e), air_e, _said(heard, places, (taken, taken_sd), (air[crossing] - usual, air_sd))


def _time_taken(
    steps: Steps, inside: npt.NDArray[np.bool_], crossing: npt.NDArray[np.bool_], phrase: npt.NDArray[np.int64]
) -> tuple[Floats, float, int]:
    """ln of how much longer each crossing step is than the steps beside it, the scatter inside, and its df."""
    x, y = steps.start, steps.y
    block = blocks_of(steps.phrase[inside], steps.passing[inside], has_phrases=True)
    fitted, p = fit_by_block(x[inside], y[inside], block)
    df = max(1, int(np.count_nonzero(inside)) - p)
    residual = y[inside] - fitted
    expected = np.array([_level(x[inside], y[inside], at) for at in x[crossing]])
    return y[crossing] - expected, math.sqrt(float(residual @ residual) / df), df


def _level(x: Floats, y: Floats, at: float) -> float:
    """The median log period of the eight steps nearest to a place."""
    return float(np.median(y[np.argsort(np.abs(x - at), kind="stable")[:8]]))


def _beyond(values: Floats, sd: float, df: int) -> Estimate:
    """The mean over phrase ends of a figure whose scatter is known from the steps inside."""
    n = len(values)
    mean, se = float(values.mean()), sd * math.sqrt(1 / n + 1.57 / 8)
    half = t_quantile(df) * se
    return Estimate(mean, mean - half, mean + half, n, se, df)


def _percent(e: Estimate) -> Estimate:
    value, low, high = (100 * math.expm1(v) for v in e.whole())
    return Estimate(value, low, high, e.n, 100 * e.se, e.df)


def _said(heard: Heard, places: list[Place], time: tuple[Floats, float], air: tuple[Floats, float]) -> list[Place]:
    least_time = math.log1p(heard.practice.value("breath_time") / 100)
    least_air = heard.practice.value("breath_air")
    by_time = time[0] > np.maximum(least_time, 2 * time[1])
    by_air = air[0] > np.maximum(least_air, 2 * air[1])
    words = np.where(by_time & by_air, "both", np.where(by_time, "time", np.where(by_air, "let go", "")))
    return [Place(place.bars, place.hand, str(word) or None) for place, word in zip(places, words, strict=True)]
