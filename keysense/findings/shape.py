"""The shape common to a phrase, taken away: one quadratic a phrase, or a block where no phrase is marked."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["blocks_of", "fit_by_block"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


def blocks_of(phrase: Ints, passing: Ints, *, has_phrases: bool, size: int = 16) -> Ints:
    """The number of the block each point belongs to: its phrase, or about ``size`` neighbours where none is marked.

    Points of different passes never share a block.
    """
    if has_phrases:
        return _numbered(passing, phrase)
    block = np.zeros(len(passing), np.int64)
    for number in np.unique(passing):
        rows = np.flatnonzero(passing == number)
        parts = np.array_split(rows, max(1, round(len(rows) / size)))
        for k, part in enumerate(parts):
            block[part] = k
    return _numbered(passing, block)


def _numbered(passing: Ints, block: Ints) -> Ints:
    """Numbers that grow with each change, in the order of the points."""
    if not len(block):
        return block
    change = (np.diff(block) != 0) | (np.diff(passing) != 0)
    return np.concatenate([[0], np.cumsum(change)])


def fit_by_block(x: Floats, y: Floats, block: Ints, *, degree: int = 2) -> tuple[Floats, int]:
    """The fitted curve at each point, and how many parameters all the fits have together.

    A block of k points is given at most a polynomial of degree k - 1.
    """
    fitted = np.empty(len(y))
    parameters = 0
    for number in np.unique(block):
        rows = block == number
        line, p = _polynomial(x[rows], y[rows], degree)
        fitted[rows] = line
        parameters += p
    return fitted, parameters


def _polynomial(x: Floats, y: Floats, degree: int) -> tuple[Floats, int]:
    p = min(degree, len(np.unique(x)) - 1) + 1
    wide = max(float(np.ptp(x)), 1e-9)
    basis, _ = np.linalg.qr(np.vander((x - x.mean()) / wide, p))
    return np.asarray(basis @ (basis.T @ y)), p
