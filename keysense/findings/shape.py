"""The shape common to a phrase, taken away: one quadratic a phrase, or a block where no phrase is marked.

Conventions
    Arrays only; all blocks at once, by the sums of each.

Findings
    None of its own: the line beside which other files measure.

References
    A quadratic a phrase: Todd 1992 (published: tempo and loudness rise and fall with it).
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from keysense.findings.stats import MAD_TO_SD, middle_of

__all__ = ["blocks_of", "different", "fit_by_block", "orthogonal"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]


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

    block: 0, 1, .. in order, as `blocks_of` numbers them. A block of k points is given at most a polynomial of degree
    k - 1. far: points more than so many robust spreads off the first fit do not bend the second; normal scatter hardly
    ever has any.
    """
    fitted, parameters = _fitted(x, y, block, degree, np.ones(len(y), bool))
    if far is None or len(y) <= parameters:
        return fitted, parameters
    residual = np.abs(y - fitted)
    spread = MAD_TO_SD * middle_of(np.sort(residual)) * math.sqrt(len(y) / (len(y) - parameters))
    near = residual <= far * spread
    return _fitted(x, y, block, degree, near) if 0 < np.count_nonzero(~near) < len(y) // 4 else (fitted, parameters)


def _fitted(x: Floats, y: Floats, block: Ints, degree: int, near: Bools) -> tuple[Floats, int]:
    """The curve at every point from the near ones of its block (from all, where too few are near)."""
    if not len(y):
        return np.zeros(0), 0
    blocks = int(block[-1]) + 1
    p = np.minimum(degree + 1, different(x, block, blocks))
    few = np.bincount(block, near, blocks) <= p
    use = near | few[block]
    weight, fitted = use.astype(float), np.zeros(len(y))
    for column in orthogonal(x, block, p, use):
        fitted += column * np.bincount(block, weight * column * (y - fitted), blocks)[block]
    return fitted, int(p.sum())


def orthogonal(x: Floats, number: Ints, p: Ints, use: Bools) -> list[Floats]:
    """Columns 1, x, x**2 and so on of each block, orthonormal over the points in use; zero from the block's p-th on.

    number: 0, 1, .. of the block of each point. All blocks at once, by the sums of each.
    """
    blocks, weight = len(p), use.astype(float)

    def total(values: Floats) -> Floats:
        return np.asarray(np.bincount(number, weight * values, blocks)[number], float)

    low, high = np.full(blocks, np.inf), np.full(blocks, -np.inf)
    np.minimum.at(low, number, x)
    np.maximum.at(high, number, x)
    middle = np.bincount(number, weight * x, blocks) / np.maximum(np.bincount(number, weight, blocks), 1)
    u = (x - middle[number]) / np.maximum(high - low, 1e-9)[number]
    columns: list[Floats] = []
    for k in range(int(p.max(initial=1))):
        column = u**k
        for _ in range(2):  # twice, so that rounding does not leave them askew
            for before in columns:
                column = column - before * total(before * column)
        norm = np.sqrt(total(column**2))
        columns.append(np.where((p > k)[number] & (norm > 1e-12), column / np.maximum(norm, 1e-12), 0.0))
    return columns


def different(x: Floats, number: Ints, blocks: int) -> Ints:
    """How many different places each block has; the blocks in order."""
    same = number[1:] == number[:-1]
    if ((x[1:] < x[:-1]) & same).any():
        x = x[np.lexsort((x, number))]
    new = np.ones(len(x))
    new[1:] = (x[1:] != x[:-1]) | ~same
    return np.bincount(number, new, blocks).astype(np.int64)
