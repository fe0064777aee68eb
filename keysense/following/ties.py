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
    at, pitch = sounding.onset_of[matched], sounding.pitch[matched]
    first = int(at.min())
    lowest = pitch[at == first].min()  # is written at every place that is alike
    quarter = sounding.onset_quarter
    by = {start: float(quarter[start] - quarter[first]) for start in _written_at(sounding, lowest) if start != first}
    if by:  # the last notes first: places that begin alike seldom end so
        for q, p in zip(quarter[at[::-1]].tolist(), pitch[::-1].tolist(), strict=True):
            by = {start: away for start, away in by.items() if (round(q + away, 4), p) in sounding.written}
            if not by:
                break
    return [*by]


def _written_at(sounding: Sounding, pitch: int) -> list[int]:
    """The onsets at which a pitch is written, ascending."""
    return [*dict.fromkeys(sounding.onset_of[sounding.pitch == pitch].tolist())]
