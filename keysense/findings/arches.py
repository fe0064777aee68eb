"""Does each phrase rise and fall, in tempo and in loudness?

Conventions
    One row a phrase that is marked and was heard. u runs from -1 at the start of the phrase to 1 at its end; a
    quadratic in u is fitted to each phrase, and the scatter about all of them tells how sure each one is.

Findings
    arch_tempo (%): how much faster the middle of the phrase is than its ends, from the curvature of ln period over
        the steady steps, both hands together.
    arch_loudness (velocity): how much louder the middle is than its ends, from the curvature of the velocity of the
        upper hand's events. Negative: the ends are faster, or louder. Student's intervals; a phrase with fewer than
        five notes is missing, and so are all with fewer than six degrees of freedom for the scatter.

References
    Todd 1992 (published): the faster the louder. Computed: a tempo arch in 95 to 100 % of professional phrases, a
    loudness arch in as few as 58 %, so neither is required and neither has a limit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Heard, hand_or_none
from keysense.findings.loudness import ONE_VELOCITY, one_velocity
from keysense.findings.shape import different, orthogonal
from keysense.findings.stats import t_quantile
from keysense.findings.steps import steps_of

__all__ = ["arch_loudness", "arch_tempo"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
_FEWEST = 5
_FEWEST_DF = 6


@dataclass(frozen=True)
class _Arch:
    """The curvature of one phrase and its standard error (both None with too few points)."""

    number: int
    n: int
    bars: tuple[int, int]
    value: float | None
    se: float


def arch_tempo(heard: Heard) -> list[Finding]:
    """The tempo arch of each phrase; nothing where none is marked."""
    events = heard.all_events
    steps = steps_of(heard, events)
    use = steps.steady
    arches, df = _arches(heard, steps.start[use], steps.y[use], steps.phrase[use], events.bar[steps.first[use]])
    rows = []
    for arch in arches:
        place = Place(arch.bars)
        if arch.value is None or df < _FEWEST_DF:
            rows.append(Finding.missing("arch_tempo", "%", _why(arch), n=arch.n, place=place))
            continue
        half = t_quantile(df) * arch.se
        value, low, high = (100 * math.expm1(v) for v in (arch.value, arch.value - half, arch.value + half))
        rows.append(Finding("arch_tempo", value, "%", arch.n, low, high, None, place))
    return rows


def arch_loudness(heard: Heard) -> list[Finding]:
    """The loudness arch of each phrase, of the upper hand."""
    if not heard.hands:
        return []
    hand = heard.hands[0]
    events = heard.hand_events[hand]
    arches, df = _arches(heard, events.quarter, -events.velocity, heard.phrase_of(events.quarter), events.bar)
    rows = []
    for arch in arches:
        place = Place(arch.bars, hand_or_none(hand))
        if one_velocity(heard) or arch.value is None or df < _FEWEST_DF:
            why = ONE_VELOCITY if one_velocity(heard) else _why(arch)
            rows.append(Finding.missing("arch_loudness", "velocity", why, n=arch.n, place=place))
            continue
        half = t_quantile(df) * arch.se
        low, high = arch.value - half, arch.value + half
        rows.append(Finding("arch_loudness", arch.value, "velocity", arch.n, low, high, None, place))
    return rows


def _arches(heard: Heard, quarter: Floats, y: Floats, phrase: Ints, bar: Ints) -> tuple[list[_Arch], int]:
    """The curvature of y in each marked phrase, and the degrees of freedom of the scatter common to all."""
    spans = heard.target.phrases[np.argsort(heard.target.phrases[:, 0])]
    number = np.searchsorted(spans[:, 0], quarter + 1e-6, side="right") - 1
    inside = (number >= 0) & (quarter < spans[np.clip(number, 0, None), 1] - 1e-6) if len(spans) else number >= 0
    quarter, y, bar, number = quarter[inside], y[inside], bar[inside], number[inside]
    heard_of, number, n = np.unique(number, return_inverse=True, return_counts=True)
    if not len(n):
        return [], 0
    start, end = spans[heard_of].T
    u = 2 * (quarter - start[number]) / (end - start)[number] - 1
    enough = (n >= _FEWEST) & (different(u, number, len(n)) >= _FEWEST)
    columns = orthogonal(u, number, np.where(enough, 3, 1), np.ones(len(u), bool))
    left, df = y.copy(), int((n[enough] - 3).sum())
    for column in columns:
        left = left - column * np.bincount(number, column * left, len(n))[number]
    rss = float((left[enough[number]] ** 2).sum())
    sd = math.sqrt(rss / df) if df else math.nan
    lean = np.bincount(number, columns[-1] * u**2, len(n))  # u**2 is this much of the last column
    bend = np.bincount(number, columns[-1] * y, len(n))
    first = np.flatnonzero(np.diff(number, prepend=-1))
    low, high = np.minimum.reduceat(bar, first), np.maximum.reduceat(bar, first)
    found = []
    for k, of_enough in enumerate(enough.tolist()):
        value, se = (float(bend[k] / lean[k]), sd / abs(float(lean[k]))) if of_enough else (None, math.nan)
        found.append(_Arch(int(heard_of[k]) + 1, int(n[k]), (int(low[k]), int(high[k])), value, se))
    return found, df


def _why(arch: _Arch) -> str:
    if arch.value is None:
        return f"it takes {_FEWEST} notes in the phrase, and {arch.n} came"
    return "too few notes to tell a phrase's shape from their scatter"
