"""Eighths swung alike throughout: how much longer and shorter than written each step is by that alone.

Conventions
    Arrays only. Swing moves every eighth between two beats by the same share of the beat: a step that starts or ends
    there is longer or shorter for it, whatever its length. It is taken out where the pairs of eighths have a ratio
    other than one beyond chance, and neither smaller nor larger than the table says: less is not noticed, more is
    another rhythm. And most of the pairs must lie nearer to the median ratio than to one (the share is that of another
    rhythm, ``rhythm_most``): half of them straight and half with a wait inside have a median that none was played at,
    and are no swing.

Findings
    None of its own: `keysense.findings.steps` judges what is left, `keysense.findings.rhythm` tells the ratio.

References
    None: common practice, no source.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from keysense.findings.beats import COMPOUND, NEAR, Beats, multiple
from keysense.findings.ranks import median_of
from keysense.findings.rhythm_pairs import EIGHTH, Pairs
from keysense.practice import Practice

__all__ = ["FEWEST_SWUNG", "eighths_of", "nearer_to_even", "swing_of"]

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
FEWEST_SWUNG = 8


def eighths_of(length: Floats, pairs: Pairs) -> Bools:
    """Which pairs are two eighths."""
    equal = np.abs(pairs.written - 1) < NEAR
    return np.asarray(equal & (np.abs(length[pairs.row] - EIGHTH) < NEAR), bool)


def nearer_to_even(off: Floats) -> int:
    """How many of some ln ratios lie nearer to 0 than to their median."""
    return int(np.count_nonzero(np.abs(off) <= np.abs(off - np.median(off))))


def swing_of(y: Floats, length: Floats, beats: Beats, pairs: Pairs, practice: Practice) -> Floats:
    """ln of how much longer each step is for the swing of the eighths; zeros where they are not swung."""
    rows, none = pairs.row[eighths_of(length, pairs)], np.zeros(len(y))
    if len(rows) < FEWEST_SWUNG:
        return none
    least, most = (math.log(practice.value(name)) for name in ("swing_least", "swing_most"))
    off = y[rows] - y[rows + 1]
    middle, low, high = median_of(off).whole()
    if low <= 0 <= high or not least <= abs(middle) <= most:
        return none
    if nearer_to_even(off) > (1 - practice.value("rhythm_most")) * len(off):
        return none
    later = math.exp(middle) / (1 + math.exp(middle)) - EIGHTH
    between = (beats.beat < COMPOUND) & beats.told
    starts, ends = (
        np.where(between & multiple(at, EIGHTH) & ~multiple(at, 1.0), later, 0.0)
        for at in (beats.since, beats.since + length)
    )
    return np.asarray(np.log1p((ends - starts) / length))
