"""Stretches that could as well lie elsewhere: what was played there is written more than once."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from keysense.following.pairing import Sounding

__all__ = ["elsewhere"]

Ints = npt.NDArray[np.int64]


def elsewhere(sounding: Sounding, matched: Ints) -> list[int]:
    """First onsets of the other places where the matched notes (indices into ``sounding``) stand alike.

    Alike: the same pitches at the same distances in quarters. Empty if there is no such place.
    """
    if not len(matched):
        return []
    quarter = sounding.onset_quarter[sounding.onset_of[matched]]
    pitch = sounding.pitch[matched]
    order = np.lexsort((pitch, quarter))
    quarter, pitch = quarter[order], pitch[order]
    first = int(sounding.onset_of[matched].min())
    starts = np.unique(sounding.onset_of[sounding.pitch == pitch[0]])
    notes = list(zip(quarter.tolist(), pitch.tolist(), strict=True))
    out = []
    for start in starts[starts != first].tolist():
        by = float(sounding.onset_quarter[start] - quarter[0])
        if all((round(q + by, 4), p) in sounding.written for q, p in notes):
            out.append(start)
    return out
