"""The path cut at its jumps into stretches played straight on; and which of these went back.

To have come to the end and to begin anew is to play it once more, and no going back.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from keysense.following.decode import JUMPED
from keysense.following.following import Following, Pass
from keysense.targets.target import Target

__all__ = ["Stretch", "stretches", "went_back"]

_END = 2  # written onsets that count as the end: a last chord may be left out


@dataclass(frozen=True)
class Stretch:
    """One stretch: its steps, and the rows of the take that belong to it, first counted and last not."""

    steps: npt.NDArray[np.void]
    first_played: int
    end_played: int


def stretches(path: npt.NDArray[np.void], n_played: int) -> list[Stretch]:
    """Cut at the jumps; key presses between two stretches belong to the one before."""
    if not len(path):
        return []
    cuts = np.flatnonzero(path["how"] == JUMPED)
    begins = [0, *[int(i) for i in cuts if i > 0]]
    ends = [*begins[1:], len(path)]
    firsts = [int(path["played"][i]) for i in begins]
    firsts[0] = 0
    return [
        Stretch(path[b:e], first, following)
        for b, e, first, following in zip(begins, ends, firsts, [*firsts[1:], n_played], strict=True)
    ]


def went_back(following: Following, target: Target) -> list[tuple[Pass, Pass, int]]:
    """Each pass that was broken off, the pass that went back from it, and the row of the last note before."""
    if not len(target.notes):
        return []
    end_quarter = np.unique(np.round(target.notes["onset_quarter"], 6))[-_END:][0]
    first_bar = int(target.notes["bar"][0])
    followed = following.pairs[following.pairs["target"] >= 0]
    out = []
    for before, after in pairwise(following.passes):
        inside = followed[
            (followed["played"] >= before["first_played"]) & (followed["played"] <= before["last_played"])
        ]
        if after["first_bar"] > before["last_bar"] or not len(inside):
            continue
        last = int(inside["target"][np.argmax(inside["played"])])
        anew = target.notes["onset_quarter"][last] >= end_quarter - 1e-6 and after["first_bar"] == first_bar
        if not anew:
            out.append((before, after, last))
    return out
