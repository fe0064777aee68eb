"""One dimension of two takes: a figure for each, their difference, and what it takes to claim it.

Conventions
    Two takes are seen through the written notes that sounded in both: a take that stops halfway is set beside the
    same half of the other, and so are the figures shown for each.

Findings
    None of its own: what the dimensions are made of.

References
    The interval of a difference from two separate intervals: Donner & Zou 2012 (memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from keysense.comparing.outcomes import Gauged
from keysense.finding import Finding
from keysense.findings.heard import Heard
from keysense.findings.stats import Estimate, difference_of
from keysense.findings.steps import Steps
from keysense.units import Unit

__all__ = ["Compared", "Rows", "apart", "compared", "not_compared", "shared", "shared_steps", "through_shared_notes"]

Rows = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Compared:
    """One dimension of two takes.

    step, clear: in the unit of the difference. p: how often so much comes from nothing, where the difference and its
    error alone do not say. beside: another measure of the same dimension, in which the takes might differ as well.
    """

    a: Finding
    b: Finding
    difference: Estimate
    step: float
    clear: float
    why_missing: str = ""
    p: float | None = None
    beside: Gauged | None = None


_UNIT: dict[str, Unit] = {
    "tempo": "quarters/min", "loudness": "velocity", "contrast": "velocity", "touch": "1",
    "evenness": "%", "breath": "%",
}  # fmt: skip


def not_compared(dimension: str, why: str, n: int = 0) -> Compared:
    """A dimension of which nothing can be told, with the reason."""
    name, unit = ("breath_time" if dimension == "breath" else dimension), _UNIT[dimension]
    missing = Finding.missing(name, unit, why, n=n)
    return Compared(missing, missing, Estimate(None, None, None, n), math.inf, math.inf, why)


def figure(name: str, unit: Unit, e: Estimate) -> Finding:
    return Finding(name, e.value, unit, e.n, e.low, e.high)


def compared(name: str, unit: Unit, pair: tuple[Estimate, Estimate], difference: Estimate, step: float, clear: float,
              p: float | None = None) -> Compared:  # fmt: skip
    """A dimension from two estimates and their difference."""
    return Compared(figure(name, unit, pair[0]), figure(name, unit, pair[1]), difference, step, clear, p=p)


def shared(a: npt.NDArray[np.generic], b: npt.NDArray[np.generic]) -> tuple[Rows, Rows]:
    """Rows of a and rows of b that hold the same."""
    _, in_a, in_b = np.intersect1d(a, b, return_indices=True)
    return in_a, in_b


def shared_steps(a: Steps, b: Steps, use_a: Bools, use_b: Bools) -> tuple[Rows, Rows]:
    """The rows of the steps that both takes have and that may be used in both, in written order."""
    rows_a, rows_b = np.flatnonzero(use_a), np.flatnonzero(use_b)
    in_a, in_b = shared(np.round(a.start[rows_a], 6), np.round(b.start[rows_b], 6))
    return rows_a[in_a], rows_b[in_b]


def through_shared_notes(a: Heard, b: Heard) -> tuple[Heard, Heard]:
    """Both takes with the rows of those written notes alone that sounded in both."""
    in_a, in_b = shared(a.rows["target"], b.rows["target"])
    return _with_rows(a, in_a), _with_rows(b, in_b)


def _with_rows(heard: Heard, kept: Rows) -> Heard:
    """A take of which only some of the judged rows are looked at."""
    if len(kept) == len(heard.rows):
        return heard
    fewer = replace(heard)
    vars(fewer)["rows"] = heard.rows[np.sort(kept)]  # given, instead of worked out at the first look
    return fewer


def apart(a: Estimate, b: Estimate) -> Estimate:
    """The difference of two separate estimates, with the error by which it is claimed."""
    return replace(difference_of(a, b), se=math.hypot(a.se, b.se), df=min(a.df, b.df))
