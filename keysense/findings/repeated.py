"""The same run played several times: what is uneven each time alike, and what is unlike from time to time?

Conventions
    Onsets in ms, one row a playing, one column a note. A straight line is taken away from each playing. What is left,
    averaged over the playings, is the profile: its root mean square is the unevenness; how far the playings lie from
    each other at each note, averaged over the notes, is the instability. Nothing of keysense's other rooms is needed.

References
    van Vugt, Jabusch, Altenmueller 2012, Front Psychol 3:495 (method). Check values (computed): three runs of eight
    notes at 125 ms: unevenness 1.630 ms, instability .492 ms.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["Repeated", "repeated_runs"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Repeated:
    """profile_ms: the deviation common to all playings, note by note; unevenness_ms its root mean square."""

    profile_ms: Floats
    unevenness_ms: float
    instability_ms: float


def repeated_runs(onset_ms: npt.ArrayLike) -> Repeated | None:
    """Unevenness and instability; None with fewer than two playings or four notes, where neither can be told."""
    onset = np.atleast_2d(np.asarray(onset_ms, float))
    playings, notes = onset.shape
    if playings < 2 or notes < 4:
        return None
    line = np.stack([np.arange(notes), np.ones(notes)], axis=1)
    left = onset - (line @ np.linalg.lstsq(line, onset.T, rcond=None)[0]).T
    profile = left.mean(axis=0)
    return Repeated(profile, float(np.sqrt((profile**2).mean())), float(left.std(axis=0, ddof=1).mean()))
