"""The path cut at its jumps into stretches played straight on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.following.decode import JUMPED

__all__ = ["Stretch", "stretches"]


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
