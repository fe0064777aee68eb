"""The rows under each of many marks, found for all marks at once.

Conventions
    Flat columns: ``rows``, in the order of the marks and of the music, and beside each the ``number`` of its mark. A
    page has hundreds of marks, and one search for all costs hardly more than one for each.

Findings
    None of its own: rows that other files use.

References
    None: bookkeeping.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from keysense.findings.heard import Heard
from keysense.targets.target import Mark

__all__ = ["NEAR", "Under", "named_by", "parts_of", "spans_of", "under_each", "under_slurs"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
NEAR = 1e-6  # quarters
_FAR = np.iinfo(np.int64).max


@dataclass(frozen=True, eq=False)
class Under:
    """``rows`` of some columns, each under the mark of its ``number``; ``marks``: how many marks there are."""

    rows: Ints
    number: Ints
    marks: int

    def where(self, keep: Bools) -> Under:
        """Only some of the rows."""
        return Under(self.rows[keep], self.number[keep], self.marks)

    @property
    def counts(self) -> Ints:
        """How many rows each mark has."""
        return np.bincount(self.number, minlength=self.marks).astype(np.int64)

    def sums(self, values: Floats) -> Floats:
        """The sum under each mark of values that are one a row here."""
        return np.asarray(np.bincount(self.number, values, self.marks), float)

    def centred(self, column: Floats) -> Floats:
        """A column at these rows, less its mean under each mark."""
        values = column[self.rows]
        return np.asarray(values - (self.sums(values) / np.maximum(self.counts, 1))[self.number])

    def parts(self, column: Floats) -> list[Floats]:
        """A column, cut into the values under each mark."""
        return parts_of(column[self.rows], self.counts)

    def bars(self, bar: Ints) -> list[tuple[int, int] | None]:
        """The first and last bar under each mark."""
        low, high = spans_of(bar[self.rows], self.number, self.marks)
        return [(a, b) if a <= b else None for a, b in zip(low.tolist(), high.tolist(), strict=True)]


def parts_of(values: Floats, counts: Ints) -> list[Floats]:
    """Values cut into neighbouring parts of so many each."""
    edges = [0, *np.cumsum(counts).tolist()]
    return [values[first:after] for first, after in pairwise(edges)]


def spans_of(values: Ints, number: Ints, parts: int) -> tuple[Ints, Ints]:
    """The least and the most of each numbered part; of an empty one the least is above the most."""
    low, high = np.full(parts, _FAR), np.full(parts, -_FAR)
    np.minimum.at(low, number, values)
    np.maximum.at(high, number, values)
    return low, high


def under_each(quarter: Floats, low: Floats, high: Floats) -> Under:
    """The rows with low <= quarter < high for each pair of bounds; quarter in order."""
    first, after = np.searchsorted(quarter, low), np.searchsorted(quarter, high)
    counts = np.maximum(after - first, 0)
    number = np.repeat(np.arange(len(counts)), counts)
    start = np.cumsum(counts) - counts
    return Under(np.arange(len(number)) - start[number] + first[number], number, len(counts))


def under_slurs(heard: Heard, marks: Sequence[Mark], quarter: Floats, target: Ints) -> Under:
    """The rows from the first note of each slur to its last; only its own notes, where it tells them.

    quarter: written onsets in order; target: the row of the target each stands for.
    """
    start, end = (np.array([getattr(mark, name) for mark in marks], float) for name in ("start_quarter", "end_quarter"))
    under = under_each(quarter, start - NEAR, end + NEAR)
    telling = np.array([bool(mark.note_ids) for mark in marks], bool)
    if not np.any(telling):
        return under
    size, own = len(heard.target.notes), named_by(heard, marks, np.arange(len(heard.target.notes)))
    named = own.number * size + own.rows
    return under.where(~telling[under.number] | np.isin(under.number * size + target[under.rows], named))


def named_by(heard: Heard, marks: Sequence[Mark], target: Ints) -> Under:
    """Which of some notes (rows of the target, in order) each mark names by its id."""
    row_of = heard.once("row of id", lambda: {note: k for k, note in enumerate(heard.target.notes["id"].tolist())})
    pairs = [(k, row_of[note]) for k, mark in enumerate(marks) for note in mark.note_ids if note in row_of]
    number, row = np.array(pairs, np.int64).reshape(-1, 2).T
    at = np.minimum(np.searchsorted(target, row), len(target) - 1)
    return Under(at, number, len(marks)).where(target[at] == row if len(target) else at >= 0)
