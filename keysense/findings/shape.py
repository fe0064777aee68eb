"""The shape common to a phrase, taken away: one quadratic a phrase, or a block where no phrase is marked."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from keysense.findings.stats import MAD_TO_SD

__all__ = ["blocks_of", "fit_by_block"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


def blocks_of(phrase: Ints, stretch: Ints, *, has_phrases: bool, size: int = 16) -> Ints:
    """The number of the block each point belongs to: its phrase, or about ``size`` neighbours where none is marked.

    Points of different stretches (another pass, a newly written tempo) never share a block.
    """
    if has_phrases:
        return _numbered(stretch, phrase)
    block = np.zeros(len(stretch), np.int64)
    for number in np.unique(stretch):
        rows = np.flatnonzero(stretch == number)
        parts = np.array_split(rows, max(1, round(len(rows) / size)))
        for k, part in enumerate(parts):
            block[part] = k
    return _numbered(stretch, block)


def _numbered(stretch: Ints, block: Ints) -> Ints:
    """Numbers that grow with each change, in the order of the points."""
    if not len(block):
        return block
    change = (np.diff(block) != 0) | (np.diff(stretch) != 0)
    return np.concatenate([[0], np.cumsum(change)])


def fit_by_block(x: Floats, y: Floats, block: Ints, *, degree: int = 2, far: float | None = None) -> tuple[Floats, int]:
    """The fitted curve at each point, and how many parameters all the fits have together.

    A block of k points is given at most a polynomial of degree k - 1. far: points more than so many robust spreads
    off the first fit do not bend the second; normal scatter hardly ever has any.
    """
    fitted, parameters = _fitted(x, y, block, degree, np.ones(len(y), bool))
    if far is None or len(y) <= parameters:
        return fitted, parameters
    residual = np.abs(y - fitted)
    spread = MAD_TO_SD * float(np.median(residual)) * float(np.sqrt(len(y) / (len(y) - parameters)))
    near = residual <= far * spread
    return _fitted(x, y, block, degree, near) if 0 < np.count_nonzero(~near) < len(y) // 4 else (fitted, parameters)


def _fitted(x: Floats, y: Floats, block: Ints, degree: int, near: npt.NDArray[np.bool_]) -> tuple[Floats, int]:
    """The curve at every point from the near ones of its block (from all, where too few are near)."""
    fitted = np.empty(len(y))
    parameters = 0
    for number in np.unique(block):
        rows = block == number
        p = min(degree, len(np.unique(x[rows])) - 1) + 1
        use = near[rows] if np.count_nonzero(near[rows]) > p else np.ones(np.count_nonzero(rows), bool)
        fitted[rows] = _polynomial(x[rows], y[rows], p, use)
        parameters += p
    return fitted, parameters


def _polynomial(x: Floats, y: Floats, p: int, use: npt.NDArray[np.bool_]) -> Floats:
    wide = max(float(np.ptp(x)), 1e-9)
    powers = np.vander((x - x.mean()) / wide, p)
    coefficients, *_ = np.linalg.lstsq(powers[use], y[use], rcond=None)
    return np.asarray(powers @ coefficients)
