"""A smooth line through points that never swings past them.

Monotone cubic interpolation after Fritsch and Carlson (1980, SIAM J. Numer. Anal. 17:238), with the weighted harmonic
mean of Fritsch and Butland (1984): between two points the line stays between their heights, so that a picture never
shows a loudness that nobody played.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from keysense.plots.svg import Array

__all__ = ["enough", "smooth"]

_OFF = 0.06  # user units by which a line drawn through fewer points may leave the curve; nobody sees a tenth


def smooth(x: Array, y: Array, at: Array) -> Array:
    """Heights at ``at`` of the line through (x, y); x must increase. One point gives a level line."""
    if len(x) == 1:
        return np.full(len(at), float(y[0]))
    width = np.diff(x)
    slope = np.diff(y) / width
    tangent = _tangents(width, slope)
    k = np.clip(np.searchsorted(x, at) - 1, 0, len(x) - 2)
    t = np.clip((at - x[k]) / width[k], 0.0, 1.0)
    from_left = (2 * t**3 - 3 * t**2 + 1) * y[k] + (t**3 - 2 * t**2 + t) * width[k] * tangent[k]
    from_right = (-2 * t**3 + 3 * t**2) * y[k + 1] + (t**3 - t**2) * width[k] * tangent[k + 1]
    heights: Array = from_left + from_right
    return heights


def enough(*lines: Array) -> npt.NDArray[np.intp]:
    """Rows of evenly sampled lines that are enough to draw them all: many where one bends, few where all are straight.

    A chord over h leaves a curve of curvature k by k h^2 / 8; so many steps are taken that this stays below `_OFF`.
    """
    bend = np.max([np.abs(np.diff(line, 2)) for line in lines], axis=0, initial=0.0)
    steps = np.concatenate([[0.0], np.cumsum(np.sqrt(bend / (8 * _OFF))), [np.inf]])
    kept: npt.NDArray[np.intp] = np.flatnonzero(np.diff(np.floor(np.minimum(steps, 1e9)), prepend=-1.0))
    return kept


def _tangents(width: Array, slope: Array) -> Array:
    tangent = np.zeros(len(slope) + 1)
    tangent[0], tangent[-1] = slope[0], slope[-1]
    before, after = slope[:-1], slope[1:]
    turns_not = before * after > 0
    w1, w2 = 2 * width[1:] + width[:-1], width[1:] + 2 * width[:-1]
    with np.errstate(all="ignore"):
        mean = (w1 + w2) / (w1 / before + w2 / after)
    tangent[1:-1] = np.where(turns_not, mean, 0.0)
    return tangent
