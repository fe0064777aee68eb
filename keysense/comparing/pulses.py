"""Two takes of one tune: whose pulse is freer, and whose phrases breathe more?

Conventions
    Steps that are steady in both takes, and phrase ends that both have; both hands together.

Findings
    evenness (%): spread of ln period about its mean over steady steps, shape and all, so a breathing pulse counts as
        free. A difference may show in the size of the spread (F of the variances) or in a shape common to neighbours
        (F of a quadratic a phrase through the paired differences of ln period); p is twice the smaller of the two.
    breath: breath_time (%) or breath_air (1), whichever differs more clearly; p is three times the smallest of those
        of the time, of the air, and of both together. Both takes breathe alike only where time and air are alike.

References
    The ratio of two variances: Fisher's F (textbook). A quadratic a phrase: Todd 1992 (published: tempo rises and falls
    with it). Chances of several looks at one thing added up: Bonferroni's inequality (textbook).
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from keysense.comparing.compared import Compared, apart, compared, not_compared, shared_steps
from keysense.comparing.outcomes import Gauged
from keysense.comparing.wandering import carried_on, of_mean, of_variance
from keysense.findings.breathing import breath_parts
from keysense.findings.heard import Heard
from keysense.findings.shape import blocks_of, fit_by_block
from keysense.findings.stats import Estimate, chi_interval, t_two_sided_p
from keysense.findings.steps import steps_of
from keysense.units import Unit

__all__ = ["breath", "evenness"]

Floats = npt.NDArray[np.float64]
_FEWEST = 8
_FEWEST_DF = 4


def evenness(a: Heard, b: Heard) -> Compared:
    """Freedom of the pulse: spread of ln period, both hands together."""
    steps = steps_of(a, a.all_events), steps_of(b, b.all_events)
    rows = shared_steps(steps[0], steps[1], *(s.steady for s in steps))
    n = len(rows[0])
    if n < _FEWEST:
        return not_compared("evenness", f"it takes {_FEWEST} steady steps in each take, and {n} came", n)
    y_a, y_b = (s.y[kept] for s, kept in zip(steps, rows, strict=True))
    at, phrase = steps[0].start[rows[0]], steps[0].phrase[rows[0]]
    r = carried_on(y_a - y_b, at, phrase)
    pair = _spread(y_a, r), _spread(y_b, r)
    block = blocks_of(phrase, np.zeros(n, np.int64), has_phrases=len(a.target.phrases) > 0)
    shape, p = fit_by_block(at, y_a - y_b, block)
    quick_s = min(float(np.median(s.seconds[kept])) for s, kept in zip(steps, rows, strict=True))
    # of quick steps a share is noticed no more, but a time
    step = max(a.practice.value("evenness_step"), a.practice.value("evenness_step_quick") / (10 * quick_s))
    clear = max(a.practice.value("evenness_clear"), step)
    chance = min(1.0, 2 * min(_p_of_spread(*pair), _p_of_shape(y_a - y_b, shape, p, r)))
    return compared("evenness", "%", pair, apart(*pair), step, clear, chance)


def _spread(y: Floats, r: float) -> Estimate:
    """The spread of some steps, of whose unevenness r is carried on from each to the next."""
    n, sd = len(y), 100 * float(y.std(ddof=1))
    df = max(_FEWEST_DF, (n - 1) * of_variance(r))
    low, high = chi_interval(sd, df)
    return Estimate(sd, low, high, n, sd / math.sqrt(2 * df), df)


def _p_of_spread(a: Estimate, b: Estimate) -> float:
    """Two-sided p of the variances being alike."""
    from scipy.special import fdtrc

    if not a.value or not b.value:
        return 1.0
    p = float(fdtrc(b.df, a.df, (b.value / a.value) ** 2))
    return 2 * min(p, 1 - p)


def _p_of_shape(y: Floats, fitted: Floats, p: int, r: float) -> float:
    """p of the shapes of the phrases being alike, from a fit to what parts them; 1 where it cannot be known."""
    from scipy.special import fdtrc

    df, df_shape = (len(y) - p) * of_mean(r), p - 1
    if len(y) - p < _FEWEST_DF or df < 1 or df_shape < 1:
        return 1.0
    explained, left = float(((fitted - y.mean()) ** 2).sum()), float(((y - fitted) ** 2).sum())
    ratio = explained / df_shape * of_mean(r) / (left / (len(y) - p)) if left > 0 else math.inf
    return float(fdtrc(df_shape, df, ratio)) if left > 0 else float(explained == 0)


def breath(a: Heard, b: Heard) -> Compared:
    """Time taken and air left at phrase ends."""
    time_a, air_a, places_a = breath_parts(a)
    time_b, air_b, places_b = breath_parts(b)
    if any(e.value is None for e in (time_a, air_a, time_b, air_b)):
        why = "no phrase end, or too little inside the phrases, was heard in one of the takes"
        return not_compared("breath", why, min(len(places_a), len(places_b)))
    time, air = apart(time_a, time_b), apart(air_a, air_b)
    p_time, p_air, p_both = _p(time), _p(air), _p_together(time, air)
    name, unit = ("breath_time", _PERCENT) if p_time <= p_air else ("breath_air", _SHARE)
    pair, other = ((time_a, time_b), "breath_air") if p_time <= p_air else ((air_a, air_b), "breath_time")
    gauged = {
        of: Gauged(difference, a.practice.value(of), a.practice.value(f"{of}_clear"))
        for of, difference in (("breath_time", time), ("breath_air", air))
    }
    found = compared(name, unit, pair, *gauged[name], min(1.0, 3 * min(p_time, p_air, p_both)))
    return replace(found, beside=gauged[other])


_PERCENT: Unit = "%"
_SHARE: Unit = "1"


def _p(difference: Estimate) -> float:
    return t_two_sided_p(difference.value or 0.0, difference.se, difference.df)


def _p_together(time: Estimate, air: Estimate) -> float:
    """p of the two together, where both point the same way."""
    if not (time.se > 0 and air.se > 0):
        return 1.0
    both = (time.value or 0.0) / time.se + (air.value or 0.0) / air.se
    return t_two_sided_p(both, math.sqrt(2), min(time.df, air.df))
