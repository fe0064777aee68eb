"""Where in a row of steps does a new pace begin?

Conventions
    Arrays only. Beside a drift and the shape common to the phrases, a jump is tried at every step that has six steps on
    either side; it counts where it would come from nothing in less than .4 % of takes (Bonferroni over the steps tried)
    and is as large as two characters' tempi must differ.

Findings
    None of its own: `keysense.findings.changes` tells the jump, and `keysense.findings.steps` parts the steps there.

References
    Limits: rows ``tempo_change_steps``, ``tempo_change_chance`` and ``tempo_clear``; common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.findings.heard import distinct
from keysense.findings.stats import Estimate, first_coefficient, t_two_sided_p
from keysense.practice import Practice

__all__ = ["Jump", "jump_of"]

Floats = npt.NDArray[np.float64]
_MOST_TRIED = 200


@dataclass(frozen=True)
class Jump:
    """A jump of ln period at the step that starts at ``quarter``; n steps were looked at."""

    quarter: float
    rise: Estimate
    n: int


def jump_of(x: Floats, y: Floats, phrases: Floats, practice: Practice) -> Jump | None:
    """The one jump that stands out most; none where none does. x: start in quarters, y: ln period, of steady steps."""
    n, each_side = len(x), int(practice.value("tempo_change_steps"))
    if n < 2 * each_side:
        return None
    tried = distinct(np.linspace(each_side, n - each_side, min(_MOST_TRIED, n - 2 * each_side + 1)).astype(int))
    base = _base(x, phrases)
    k = int(tried[np.argmax(_explained(base, y)[tried])])
    e = first_coefficient(np.column_stack([np.arange(n) >= k, base]).astype(float), y)
    if e.value is None or t_two_sided_p(e.value, e.se, e.df) * len(tried) > practice.value("tempo_change_chance"):
        return None
    large = abs(100 * math.expm1(-e.value)) >= practice.value("tempo_clear")
    return Jump(float(x[k]), e, n) if large else None


def _base(x: Floats, phrases: Floats) -> Floats:
    """Orthonormal columns of what is no jump: a level, a drift, and the shape common to the phrases."""
    columns = [np.ones(len(x)), x - x.mean()]
    spans = phrases[np.argsort(phrases[:, 0])]
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
