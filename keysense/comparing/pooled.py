"""The takes of one day in one character, taken together: eight notes tell little, three times eight tell more.

Conventions
    Note by note, of the written notes that sounded in every take: loudness, length and the time since the first common
    note are the mean over the takes. What is left of a note's scatter is smaller by the root of their number. Takes
    that went back, that lost the place or that used the pedal are left out; so is whatever cannot be put together with
    the take that is asked about. How one take differs as a whole from the next of the same day is not in the interval.

Findings
    None of its own: what `keysense.comparing.compare` looks at.

References
    Standard error of a mean (textbook). Eight notes at touch noise 8: the half of the interval of a difference is 9.0
    velocity for one take a side and 5.0 for three (150 simulated pairs).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import reduce

import numpy as np
import numpy.typing as npt

from keysense.findings.heard import Heard

__all__ = ["pooled"]

Floats = npt.NDArray[np.float64]


def pooled(takes: Sequence[Heard]) -> tuple[Heard, int]:
    """The first take with its notes as the mean of all that can be put together with it, and how many those are."""
    alike = [takes[0], *(take for take in takes[1:] if _plain(take))] if _plain(takes[0]) else [takes[0]]
    if len(alike) < 2:
        return takes[0], 1
    common = reduce(np.intersect1d, [take.rows["target"] for take in alike])
    if not len(common):
        return takes[0], 1
    parts = [take.rows[np.isin(take.rows["target"], common)] for take in alike]
    rows = parts[0].copy()
    since = [part["onset_s"] - part["onset_s"].min() for part in parts]
    rows["onset_s"] = np.mean(since, axis=0)
    rows["release_s"] = rows["onset_s"] + np.mean([part["release_s"] - part["onset_s"] for part in parts], axis=0)
    rows["velocity"] = np.mean([part["velocity"] for part in parts], axis=0)
    mean = replace(takes[0])
    vars(mean)["rows"] = rows  # given, instead of worked out at the first look
    return mean, len(alike)


def _plain(heard: Heard) -> bool:
    """Played once through, with the keys alone."""
    rows = heard.rows
    straight = len(rows) > 0 and not np.ptp(rows["passing"]) and not np.any(rows["again"])
    return straight and not heard.following.lost and not np.any(heard.take.pedals["controller"] == 64)
