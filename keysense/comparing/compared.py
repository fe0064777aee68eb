"""One dimension of two takes: a figure for each, their difference, and what it takes to claim it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding
from keysense.findings.stats import Estimate, difference_of
from keysense.units import Unit

__all__ = ["Compared", "apart", "compared", "not_compared", "shared"]


@dataclass(frozen=True)
class Compared:
    """One dimension of two takes.

    step, clear: in the unit of the difference. p: how often so much comes from nothing, where the difference and its
    error alone do not say.
    """

    a: Finding
    b: Finding
    difference: Estimate
    step: float
    clear: float
    why_missing: str = ""
    p: float | None = None


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


Rows = npt.NDArray[np.intp]


def shared(a: npt.NDArray[np.generic], b: npt.NDArray[np.generic]) -> tuple[Rows, Rows]:
    """Rows of a and rows of b that hold the same."""
    _, in_a, in_b = np.intersect1d(a, b, return_indices=True)
    return in_a, in_b


def apart(a: Estimate, b: Estimate) -> Estimate:
    """The difference of two separate estimates, with the error by which it is claimed."""
    return replace(difference_of(a, b), se=math.hypot(a.se, b.se), df=min(a.df, b.df))
