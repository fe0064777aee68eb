"""Did the tempo change on the way, from one bar to the next?

Conventions
    Both hands together, steps that are not free (a sudden change is never a wait, see below), one written tempo and
    one pass only. Beside a drift and the shape common to the phrases, a jump is tried at every step that has six steps
    on either side; it is told where it would come from nothing in less than .4 % of takes (Bonferroni over the steps
    tried) and is as large as two characters' tempi must differ.

Findings
    tempo_change (%): the jump of tempo, Student's interval, placed in the bar where the new tempo begins. Told only
        where there is one.

References
    Limit: the row ``tempo_clear``; common practice, no source.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Heard, distinct
from keysense.findings.stats import first_coefficient, t_two_sided_p
from keysense.findings.steps import Steps, steps_of

__all__ = ["tempo_change"]

Floats = npt.NDArray[np.float64]
_MOST_TRIED = 200


def tempo_change(heard: Heard) -> list[Finding]:
    """The one jump that stands out most; nothing where none does, or where freedom of time was asked."""
    events = heard.all_events
    steps = steps_of(heard, events)
    use = ~(steps.free | steps.other | steps.long | steps.short)
    x, y = steps.start[use], steps.y[use]
    n, each_side = len(x), int(heard.practice.value("tempo_change_steps"))
    if heard.free or n < 2 * each_side or np.ptp(steps.stretch[use]) > 0:
        return []
    tried = distinct(np.linspace(each_side, n - each_side, min(_MOST_TRIED, n - 2 * each_side + 1)).astype(int))
    base = _base(heard, steps, use)
    k = int(tried[np.argmax(_explained(base, y)[tried])])
    e = first_coefficient(np.column_stack([np.arange(n) >= k, base]).astype(float), y)
    if e.value is None or t_two_sided_p(e.value, e.se, e.df) * len(tried) > heard.practice.value("tempo_change_chance"):
        return []
    value, high, low = (100 * math.expm1(-v) for v in e.whole())
    if abs(value) < heard.practice.value("tempo_clear"):
        return []
    bar = int(events.bar[steps.first[use][k]])
    return [Finding("tempo_change", value, "%", n, low, high, None, Place((bar, bar)))]


def _base(heard: Heard, steps: Steps, use: npt.NDArray[np.bool_]) -> Floats:
    """Orthonormal columns of what is no jump: a level, a drift, and the shape common to the phrases."""
    x = steps.start[use]
    columns = [np.ones(len(x)), x - x.mean()]
    spans = heard.target.phrases[np.argsort(heard.target.phrases[:, 0])]
    if len(spans):  # an arch alone: a slope within each phrase and a jump between them could not be told apart
        start, end = spans[np.clip(np.searchsorted(spans[:, 0], x + 1e-6, side="right") - 1, 0, None)].T
        columns.append((2 * (x - start) / (end - start) - 1) ** 2)
    return np.linalg.qr(np.stack(columns, axis=1))[0]


def _explained(base: Floats, y: Floats) -> Floats:
    """The square that a jump at each point explains beyond the base."""
    after = np.cumsum(base[::-1], axis=0)[::-1]  # the base's columns, summed from each point to the end
    size = np.arange(len(y), 0, -1) - (after**2).sum(axis=1)
    along = np.cumsum((y - base @ (base.T @ y))[::-1])[::-1]
    return np.asarray(np.where(size > 1e-9, along**2 / np.maximum(size, 1e-9), 0.0))
