"""Columns of values: what is asked of them all the time, where numpy's own takes longer to call than it works."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["changes", "median"]

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]


def changes(values: Floats | Ints) -> npt.NDArray[np.bool_]:
    """Whether each value is another than the one before it; the first is."""
    new = np.ones(len(values), bool)
    np.not_equal(values[1:], values[:-1], out=new[1:])
    return new


def median(values: Floats | Ints) -> float:
    """The middle of some values."""
    ascending, n = np.sort(values), len(values)
    return float((ascending[(n - 1) // 2] + ascending[n // 2]) / 2)
