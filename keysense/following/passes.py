"""The path cut at its jumps into stretches played straight on; and which of these went back.

To have come to the end and to begin anew is to play it once more, and no going back.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from keysense.following.decode import JUMPED, LEFT_OUT
from keysense.following.following import Following, Pass
from keysense.targets.target import Target

__all__ = ["Span", "Stretch", "spans", "stretches", "went_back"]

Span = tuple[int, int]
"""The least and the greatest of some values; of none the least is beyond the greatest."""

_FAR = 1 << 40  # beyond every value
_END = 2  # written onsets that count as the end: a last chord may be left out


@dataclass(frozen=True)
class Stretch:
    """One stretch: its steps, and the rows of the take that belong to it, first counted and last not."""

    steps: npt.NDArray[np.void]
    first_played: int
    end_played: int


def stretches(path: npt.NDArray[np.void], n_played: int) -> list[Stretch]:
    """Cut at the jumps and where a repeat was left out; presses between two stretches belong to the one before."""
    if not len(path):
        return []
    how = path["how"]
    (cuts,) = ((how == JUMPED) | (how == LEFT_OUT)).nonzero()
    cuts = cuts[cuts > 0]
    begins = [0, *cuts.tolist()]
    ends = [*begins[1:], len(path)]
    firsts = [0, *path["played"][cuts].tolist()]
    return [
        Stretch(path[b:e], first, following)
        for b, e, first, following in zip(begins, ends, firsts, [*firsts[1:], n_played], strict=True)
    ]


def spans(values: npt.NDArray[np.int64], told: npt.NDArray[np.bool_], parts: list[Stretch]) -> list[Span]:
    """Of each stretch the span of the values, one a press, that are told."""
    begins = [part.first_played for part in parts]
    least = np.minimum.reduceat(np.where(told, values, _FAR), begins)
    most = np.maximum.reduceat(np.where(told, values, -_FAR), begins)
    return list(zip(least.tolist(), most.tolist(), strict=True))


def went_back(following: Following, target: Target) -> list[tuple[int, int]]:
    """Each going back: the row of the last note of the pass that was broken off, and of the note that was gone back to.

    Places are compared on the unfolded line: the numbers of the bars run anew in a repeat.
    """
    if not len(target.notes):
        return []
    quarter, bar = target.notes["onset_quarter"], target.notes["bar"]
    end_quarter = np.unique(np.round(quarter, 6))[-_END:][0]
    out = []
    for before, after in pairwise(following.passes):
        rows, on = _followed(following, before), _followed(following, after)
        if not len(rows) or not len(on) or quarter[on[0]] > quarter[rows[-1]] + 1e-6:
            continue
        anew = quarter[rows[-1]] >= end_quarter - 1e-6 and bar[on[0]] == bar[0]
        if not anew:
            out.append((int(rows[-1]), int(on[0])))
    return out


def _followed(following: Following, one: Pass) -> npt.NDArray[np.int64]:
    """The rows of the target that a pass played, in the order played."""
    rows = following.pairs["target"][one["first_played"] : one["last_played"] + 1].astype(np.int64)
    return rows[rows >= 0]
