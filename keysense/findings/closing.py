"""How does the tune slow down at its close?

Conventions
    Both hands together. The close is the written ritardando that reaches the last bar or, where none is written, the
    last bar itself. Tempo there is set against the steady steps before; x runs from 0 where the close begins to 1 at
    the last onset, and the speed follows [1 + (w^q - 1) x]^(1/q): w is the speed at the end as a share of that before,
    q how late the slowing comes (1 evenly along the way, 2 as a runner stops, 3 later still). A step lasts the integral
    of 1 / speed. w, q and the level before are fitted together to ln period by least squares.

Findings
    closing_speed (1): w; closing_bend (1): q, told only where the slowing is clear (w surely below .8) and q is held
        on one side at least; where the other is not, the interval reaches to the end of what is tried, .4 or 10.
        Profile intervals: all values that the fit does not refuse at 5 % (Student's t of the profile).
        Missing below five steps in the close and eight before it.

References
    Friberg & Sundberg 1999 (published): closing ritardandi are rated best with q = 2 or 3; the formula is written from
    memory. Check values (computed): w = .5, x = .5: .7906 for q = 2, .8255 for q = 3.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Heard, distinct
from keysense.findings.stats import Estimate, t_quantile
from keysense.findings.steps import Steps, steps_of

__all__ = ["closing", "fit_close", "ritardando_speed", "ritardando_time"]

Floats = npt.NDArray[np.float64]
_FEWEST = 5
_FEWEST_BEFORE = 8
_SPEEDS = np.exp(np.linspace(math.log(0.06), math.log(3.0), 110))
_BENDS = np.exp(np.linspace(math.log(0.4), math.log(10), 48))
_NEAR = 1e-6


def closing(heard: Heard) -> list[Finding]:
    """Both figures of the close; nothing where it is too short on the page to have a shape."""
    events = heard.all_events
    steps = steps_of(heard, events)
    start, end = _close(heard)
    onset = heard.asked_onsets()
    if len(distinct(onset[onset > start - _NEAR])) <= _FEWEST:
        return []
    inside, before = steps.start > start - _NEAR, steps.steady & (steps.start < start - _NEAR)
    n, bars = int(np.count_nonzero(inside)), events.bar[steps.first[inside]]
    place = Place((int(bars.min()), int(bars.max())) if n else None)
    if n < _FEWEST or np.count_nonzero(before) < _FEWEST_BEFORE:
        why = f"it takes {_FEWEST} steps at the close and {_FEWEST_BEFORE} steady ones before, and {n} came"
        return [Finding.missing(name, "1", why, n=n, place=place) for name in ("closing_speed", "closing_bend")]
    fit = _fitted(steps, inside, before, start, end)
    if fit.speed.low is None:
        why = "the tempo at the close is not held on both sides"
        return [Finding.missing(name, "1", why, n=n, place=place) for name in ("closing_speed", "closing_bend")]
    speed = Finding("closing_speed", fit.speed.value, "1", n, fit.speed.low, fit.speed.high, None, place)
    if fit.bend.low is None or (fit.speed.high or 1.0) > heard.practice.value("closing_clear"):
        why = "the slowing is too slight or too short to tell its shape"
        return [speed, Finding.missing("closing_bend", "1", why, n=n, place=place)]
    return [speed, Finding("closing_bend", fit.bend.value, "1", n, fit.bend.low, fit.bend.high, None, place)]


def _close(heard: Heard) -> tuple[float, float]:
    """Where the close begins and where the last onset is, in quarters."""
    notes = heard.target.notes
    end = float(notes["onset_quarter"].max()) if len(notes) else 0.0
    last_bar = heard.last_bar_quarter
    written = [
        mark.start_quarter for mark in heard.marks_of("ritardando")
        if (mark.end_quarter <= mark.start_quarter or mark.end_quarter > last_bar - _NEAR)
    ]  # fmt: skip
    return max(written, default=last_bar), end


@dataclass(frozen=True)
class Close:
    """The speed at the end as a share of that before, and how late the slowing comes."""

    speed: Estimate
    bend: Estimate


def _fitted(
    steps: Steps, inside: npt.NDArray[np.bool_], before: npt.NDArray[np.bool_], start: float, end: float
) -> Close:
    x = (np.stack([steps.start[inside], steps.start[inside] + steps.length[inside]]) - start) / (end - start)
    return fit_close(x[0], np.minimum(x[1], 1.0), steps.y[inside], steps.y[before])


def fit_close(first: Floats, second: Floats, y: Floats, before: Floats) -> Close:
    """The curve that fits best, by its sum of squares at a grid of speeds and bends.

    first, second: where each step of the close begins and ends, from 0 to 1; y: its ln period; before: ln periods of
    the steady steps before.
    """
    speeds, bends = np.meshgrid(_SPEEDS, _BENDS, indexing="ij")
    took = ritardando_time(first, second, speeds[..., None], bends[..., None])
    off = y - np.log(np.maximum(took, 1e-12) / (second - first))
    n = len(y) + len(before)
    level = (off.sum(axis=-1) + before.sum()) / n
    squares = ((off - level[..., None]) ** 2).sum(axis=-1) + ((before - level[..., None]) ** 2).sum(axis=-1)
    return Close(_profile(_SPEEDS, squares.min(axis=1), n), _profile(_BENDS, squares.min(axis=0), n, open_end=True))


def _profile(tried: Floats, squares: Floats, n: int, *, open_end: bool = False) -> Estimate:
    """The value of the least squares, by a parabola through its neighbours, and all that is not refused.

    No interval where it runs into an end of the grid; ``open_end``: only where it runs into both.
    """
    k = int(np.clip(np.argmin(squares), 1, len(tried) - 2))
    at, a, b, c = np.log(tried), *squares[k - 1 : k + 2]
    bend = a - 2 * b + c
    least = float(at[k] + 0.5 * (at[1] - at[0]) * np.clip((a - c) / bend if bend > 0 else 0.0, -1, 1))
    df = n - 3
    allowed = float(squares.min()) * (1 + t_quantile(df) ** 2 / df) + 1e-12
    held = np.flatnonzero(squares <= allowed)
    value = math.exp(least)
    first, last = int(held[0]), int(held[-1])
    off = first == 0, last == len(tried) - 1
    if all(off) or (any(off) and not open_end):
        return Estimate(value, None, None, n)
    low, high = (
        math.exp(float(at[i] if over else np.interp(allowed, squares[[i, o]], at[[i, o]])))
        for i, o, over in ((first, first - 1, off[0]), (last, last + 1, off[1]))
    )
    return Estimate(value, min(low, value), max(high, value), n)


def ritardando_speed(x: float, w: float, q: float) -> float:
    """Speed, as a share of that at the start, at share ``x`` of a closing ritardando that ends at speed ``w``."""
    return float((1 + (w**q - 1) * x) ** (1 / q))


def ritardando_time(first: Floats, second: Floats, w: Floats, q: Floats) -> Floats:
    """The integral of 1 / speed between two shares of the way; as long as the way itself where w is 1."""
    slope = np.where(np.abs(w**q - 1) < 1e-9, 1e-9, w**q - 1)
    power = np.where(np.abs(1 - 1 / q) < 1e-6, 1e-6, 1 - 1 / q)

    def until(x: Floats) -> Floats:
        return np.asarray(np.maximum(1 + slope * x, 1e-12) ** power / (slope * power))

    return np.asarray(until(second) - until(first))
