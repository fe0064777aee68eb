"""Pairs of neighbouring steps on the beat, and those that were plainly played as another rhythm.

Conventions
    Arrays only; lengths in quarters, times in seconds.

Findings
    None of its own: what `keysense.findings.rhythm` and `keysense.findings.steps` look at.

References
    Limits: ``practice.toml`` (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.findings.beats import COMPOUND, NEAR, Beats, multiple
from keysense.practice import Practice

__all__ = ["EIGHTH", "OWN_VERSION", "Pairs", "other_rhythm", "own_rhythm", "pair_kinds", "pairs_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

OWN_VERSION = "the notes of the tune came in a rhythm of their own: your own version"
_PLAIN = np.log(np.array([1 / 3, 1 / 2, 1.0, 2.0, 3.0]))
_FEWEST_OTHERS = 6
_DIFFERENCE_TO_PAIR = 1.4826  # of normal noise: median difference of neighbours to the spread of a pair's ratio
_FEWEST_OWN = 12
EIGHTH = 0.5


@dataclass(frozen=True)
class Pairs:
    """row: the step that begins each pair (the next row ends it); written: first over second written length."""

    row: Ints
    written: Floats


def pairs_of(beats: Beats, length: Floats, first: Ints, second: Ints, free: Bools) -> Pairs:
    """The pairs that begin on a beat and fill whole beats together, each step in one; none that holds a free step.

    Of a beat of three eighths also those that fill two of them, such as a dotted eighth and its sixteenth.
    """
    row = np.arange(max(0, len(length) - 1))
    one, two, beat = length[row], length[row + 1], beats.beat[row]
    follows = (second[row] == first[row + 1]) & ~free[row] & ~free[row + 1]
    equal, part = np.abs(one - two) < NEAR, np.where(beat < COMPOUND, beat, EIGHTH)
    split = ~(multiple(one, part) & multiple(two, part))
    fills = multiple(one + two, beat) & (split | ~equal)
    fills |= (beat == COMPOUND) & (np.abs(one + two - 2 * EIGHTH) < NEAR) & split
    fills &= beats.told[row] | ~equal  # six even eighths may be two beats or three
    row = _each_once(row[follows & multiple(beats.since[row], beat) & fills])
    return Pairs(row, length[row] / length[row + 1] if len(row) else np.zeros(0))


def _each_once(row: Ints) -> Ints:
    """Of pairs that share a step the earlier one: a long note among short ones is told once."""
    kept: list[int] = []
    for one in row.tolist():
        if not kept or one > kept[-1] + 1:
            kept.append(one)
    return np.array(kept, np.int64)


def other_rhythm(y: Floats, length: Floats, pairs: Pairs, practice: Practice) -> Bools:
    """Which steps belong to a kind of pair that was plainly played in another ratio than the written."""
    other = np.zeros(len(y), bool)
    if not len(pairs.row):
        return other
    kinds = pair_kinds(length[pairs.row], length[pairs.row + 1])
    for kind in np.unique(kinds):
        of_kind = pairs.row[kinds == kind]
        off, written = y[of_kind] - y[of_kind + 1], float(np.log(length[of_kind[0]] / length[of_kind[0] + 1]))
        if len(off) >= practice.value("rhythm_pairs"):
            misread = _misread(off, written, practice)
        else:
            alike = len(off) >= 2 and _misread(off, written, practice, of_all=True)
            misread = alike and _beyond_scatter(off, y, of_kind, practice)
        other[of_kind] = other[of_kind + 1] = misread
    return other


def pair_kinds(first: Floats, second: Floats) -> Ints:
    """One number for each pair of written lengths, the same for the same two; in the order of the first, the second."""
    return np.asarray((np.rint(first / NEAR).astype(np.int64) << 32) + np.rint(second / NEAR).astype(np.int64))


def _beyond_scatter(off: Floats, y: Floats, of_kind: Ints, practice: Practice) -> bool:
    """Two or three pairs, each alike and further off than the player's other steps scatter."""
    others = np.delete(y, np.concatenate([of_kind, of_kind + 1]))
    if len(others) < _FEWEST_OTHERS:
        return False
    scatter = float(np.median(np.abs(np.diff(others)))) * _DIFFERENCE_TO_PAIR
    alike = np.ptp(off) < practice.value("rhythm_alike") * abs(np.median(off))
    return bool(alike and np.min(np.abs(off)) > practice.value("rhythm_beyond") * scatter)


def own_rhythm(seconds: Floats, length: Floats, practice: Practice) -> bool:
    """Whether the lengths played have next to nothing to do with those written, though these are unlike enough.

    A halting reader, whose ln seconds scatter by .35, keeps a correlation of .5 or more with lengths that unlike.
    """
    unlike = practice.value("own_rhythm_unlike")
    if len(seconds) < _FEWEST_OWN or float(np.log(length).std()) < unlike:
        return False
    played = np.log(seconds)
    if float(played.std()) < unlike:  # one even value throughout is another rhythm, and told there
        return False
    return bool(np.corrcoef(played, np.log(length))[0, 1] < practice.value("own_rhythm_along"))


def _misread(off: Floats, written: float, practice: Practice, *, of_all: bool = False) -> bool:
    """off: ln of played over written ratio. Much nearer to another plain ratio, by the middle and by most pairs."""
    others = _PLAIN[np.abs(_PLAIN - written) > practice.value("rhythm_same")] - written
    middle = float(np.median(off))
    nearest = others[np.argmin(np.abs(others - middle))]
    most = 1.0 if of_all else practice.value("rhythm_most")
    by_most = np.mean(np.abs(off - nearest) < np.abs(off)) >= most
    return bool(by_most and abs(middle - nearest) < practice.value("rhythm_nearer") * abs(middle))
