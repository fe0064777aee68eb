"""The same run played several times: what is uneven each time alike, and what is unlike from time to time?

Conventions
    Onsets in ms, one row a playing, one column a note. A straight line is taken away from each playing. What is left,
    averaged over the playings, is the profile: its root mean square is the unevenness; how far the playings lie from
    each other at each note, averaged over the notes, is the instability. Nothing of keysense's other rooms is needed.

Findings
    Those of `keysense.findings.playings`, which finds the runs.

References
    van Vugt, Jabusch, Altenmueller 2012, Front Psychol 3:495 (method). Check values (computed): three runs of eight
    notes at 125 ms: unevenness 1.630 ms, instability .492 ms. Satterthwaite 1946 (memory): degrees of freedom of a sum.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.findings.stats import chi_interval, t_quantile

__all__ = ["Repeated", "repeated_runs"]

Floats = npt.NDArray[np.float64]
_FEWEST_FOR_INTERVAL = 4
_CAREFUL = 0.15  # simulated: holds 94 to 97 % of keys that err each alone and of steps whose errors add up


@dataclass(frozen=True)
class Repeated:
    """profile_ms: the deviation common to all playings, note by note; unevenness_ms its root mean square.

    uneven, unstable: the intervals of unevenness and instability, None below four playings.
    """

    profile_ms: Floats
    unevenness_ms: float
    instability_ms: float
    uneven: tuple[float, float] | None = None
    unstable: tuple[float, float] | None = None


def repeated_runs(onset_ms: npt.ArrayLike) -> Repeated | None:
    """Unevenness and instability; None with fewer than two playings or four notes, where neither can be told."""
    onset = np.atleast_2d(np.asarray(onset_ms, float))
    playings, notes = onset.shape
    if playings < 2 or notes < 4:
        return None
    along = np.arange(notes) - (notes - 1) / 2
    left = onset - onset.mean(axis=1, keepdims=True)
    left = left - (left * along).sum(axis=1, keepdims=True) / (along**2).sum() * along
    profile, apart = left.mean(axis=0), float(left.std(axis=0, ddof=1).mean())
    uneven = float(np.sqrt((profile**2).mean()))
    if playings < _FEWEST_FOR_INTERVAL:
        return Repeated(profile, uneven, apart)
    return Repeated(profile, uneven, apart, _uneven(left, uneven), _unstable(left, apart))


def _uneven(left: Floats, value: float) -> tuple[float, float]:
    """The square of the true profile is the mean product of two different playings; a jackknife tells how sure it is.

    Widened to hold the value, which scatter makes larger.
    """
    playings, notes = left.shape
    # of each playing the products with all the others, summed; a table of all pairs would be large
    each = ((left * left.sum(axis=0)).sum(axis=1) - (left**2).sum(axis=1)) / notes
    square = float(each.sum()) / playings / (playings - 1)
    without = (each.sum() - 2 * each) / (playings - 1) / (playings - 2)
    se = math.sqrt((playings - 1) / playings * float(((without - without.mean()) ** 2).sum()))
    half = t_quantile(playings - 1) * se
    low, high = (math.sqrt(max(0.0, v)) for v in (square - half, square + half))
    return min(low, value), max(high, value)


def _unstable(left: Floats, value: float) -> tuple[float, float]:
    """A chi-square interval; how many degrees of freedom the notes have together is told from how they go together."""
    playings, notes = left.shape
    df = playings - 1
    off = left - left.mean(axis=0)
    smaller = off if playings > notes else off.T  # both ways the trace is the same, and that of the square
    among = np.einsum("pi,pj->ij", smaller, smaller) / df
    total, squared = float(np.trace(among)), float((among**2).sum())
    # the trace of the squared covariance of the notes, without the bias of few playings
    true = df**2 / ((df - 1) * (df + 2)) * (squared - total**2 / df)
    most = notes - 2.0
    ways = min(most, max(1.0, total**2 / true)) if true > 0 else most
    plain = total**2 / squared if squared > 0 else most  # too few, by the bias of few playings
    return chi_interval(value, df * ways ** (1 - _CAREFUL) * min(ways, plain) ** _CAREFUL)
