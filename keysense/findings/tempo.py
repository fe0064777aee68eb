"""How fast, and does it get faster or slower?

Conventions
    Both hands together, steady steps only (see `keysense.findings.steps`). A period is seconds a quarter.

Findings
    tempo (quarters/min): the geometric mean over the steps of 60 / period; its interval is Student's on the scatter
        left when the shape of the phrases is taken away. One row; where a new pace begins on the way, written (for
        eight steps or more) or not (`keysense.findings.changes`), one row each for its bars. Missing below three steps.
        Every step counts alike, whatever its length: a softened dotted rhythm at 100 reads some 95.
    drift (%): the change of tempo from the first to the last step of a straight line through ln period, beside a
        shape common to the phrases and a level for each newly begun pace; positive is getting faster. Missing below
        eight steps, and where freedom of time was asked. Where steps plainly wander the interval is
        wider (`keysense.findings.wander`); a slight wander may still read as drift.

References
    Check value (computed): periods of 500 * .998^k ms, 32 of them, go from 120 to 127.7 quarters a minute.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Heard
from keysense.findings.stats import Estimate, first_coefficient, t_quantile
from keysense.findings.steps import Steps, shape_of, steady_shape, steps_of

__all__ = ["drift", "log_period", "tempo"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
_NEAR = 1e-6
FREE = "freedom of time was asked, so it is no question here"
_FEWEST_STEPS = 3
_FEWEST_FOR_DRIFT = 8


def log_period(heard: Heard, steps: Steps, among: Bools | None = None) -> Estimate:
    """The mean of ln period over the steady steps (over all that are no wait, where none is steady).

    among: only some of the steps.
    """
    some = np.ones(len(steps.y), bool) if among is None else among
    steady = np.count_nonzero(steps.steady & some) >= _FEWEST_STEPS
    use = some & (steps.steady if steady else ~(steps.long | steps.short))
    y = steps.y[use]
    n = len(y)
    if n < _FEWEST_STEPS:
        return Estimate(None, None, None, n)
    residual, df = y - y.mean(), n - 1
    has_phrases = len(heard.target.phrases) > 0
    whole = steady and among is None
    fitted, p = steady_shape(heard, steps) if whole else shape_of(steps, use, has_phrases=has_phrases)
    if n - p >= 8:
        residual, df = y - fitted, n - p
    se = math.sqrt(float(residual @ residual) / df / n)
    half = t_quantile(df) * se
    return Estimate(float(y.mean()), float(y.mean()) - half, float(y.mean()) + half, n, se, df)


def tempo(heard: Heard) -> list[Finding]:
    """Quarters a minute, both hands together; of two paces, and of each written one, each."""
    steps = steps_of(heard, heard.all_events)
    part = heard.section_of(steps.start)
    if np.any(np.unique(part, return_counts=True)[1] < _FEWEST_FOR_DRIFT):
        part = np.zeros_like(part)  # a slowing written beat by beat makes no pace of each beat
    if steps.jump is not None:
        part = 2 * part + (steps.start > steps.jump.quarter - _NEAR)
    paces = np.unique(part)
    if len(paces) < 2:
        return [_pace(log_period(heard, steps), Place())]
    bar = heard.all_events.bar[steps.first]
    return [_pace(log_period(heard, steps, part == k), Place(heard.bars_of(bar[part == k]))) for k in paces]


def _pace(period: Estimate, place: Place) -> Finding:
    if period.value is None or period.low is None or period.high is None:
        return Finding.missing("tempo", "quarters/min", _too_few(period.n, _FEWEST_STEPS), n=period.n, place=place)
    fastest, slowest = 60 * math.exp(-period.low), 60 * math.exp(-period.high)
    return Finding("tempo", 60 * math.exp(-period.value), "quarters/min", period.n, slowest, fastest, None, place)


def drift(heard: Heard) -> list[Finding]:
    """The change of tempo from start to end of the fit, in percent."""
    steps = steps_of(heard, heard.all_events)
    use = steps.steady
    n = int(np.count_nonzero(use))
    if heard.free:
        return [Finding.missing("drift", "%", FREE, n=n)]
    if n < _FEWEST_FOR_DRIFT:
        return [Finding.missing("drift", "%", _too_few(n, _FEWEST_FOR_DRIFT), n=n)]
    x = steps.start[use]
    slope = _slope_beside_phrases(heard, x, steps.y[use], steps.phrase[use], steps.stretch[use])
    span = float(x.max() - x.min())
    value, high, low = (_change(s, span) for s in slope.whole())
    return [Finding("drift", value, "%", n, low, high, heard.practice.limit("drift"))]


def _change(slope: float, span: float) -> float:
    """Percent of tempo gained over the span when ln period has this slope a quarter."""
    return 100 * math.expm1(-slope * span)


def _slope_beside_phrases(heard: Heard, x: Floats, y: Floats, phrase: Ints, stretch: Ints) -> Estimate:
    """The slope common to the whole; each newly begun pace has its own level, and a breathing phrase is no drift."""
    columns = [x - x.mean(), *(stretch == number for number in np.unique(stretch))]
    starts = np.sort(heard.target.phrases[:, 0])
    if len(np.unique(phrase)) >= 2 and len(starts) >= 2 and len(x) >= 12:
        inside = x - starts[np.clip(phrase - 1, 0, len(starts) - 1)]
        columns += [inside, inside**2]
    design = np.stack(columns, axis=1).astype(float)
    return first_coefficient(design, y)


def _too_few(n: int, needed: int) -> str:
    return f"it takes {needed} steady steps, and {n} came"
