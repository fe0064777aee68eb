"""Pairs of neighbouring steps on the beat, and those that were plainly played as another rhythm. Arrays only."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["OTHER_PAIRS", "OWN_VERSION", "Pairs", "other_rhythm", "own_rhythm", "pairs_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

OWN_VERSION = "the notes of the tune came in a rhythm of their own: your own version"
OTHER_PAIRS = 4  # pairs of one kind, from which another rhythm can be told from chance
_PLAIN = np.log(np.array([1 / 3, 1 / 2, 1.0, 2.0, 3.0]))
_MUCH_NEARER = 0.5
_FEWEST_OTHERS = 6
_BEYOND = 3.0
_DIFFERENCE_TO_PAIR = 1.4826  # of normal noise: median difference of neighbours to the spread of a pair's ratio
_MOST_OF_THEM = 0.75
_NEAR = 1e-3
_FEWEST_OWN = 12
_UNLIKE = 0.3
_ALIKE = 0.3


@dataclass(frozen=True)
class Pairs:
    """row: the step that begins each pair (the next row ends it); written: first over second written length."""

    row: Ints
    written: Floats


def pairs_of(start: Floats, length: Floats, first: Ints, second: Ints, free: Bools) -> Pairs:
    """The pairs that begin on a quarter and fill whole quarters together; none that holds a free step."""
    row = np.arange(max(0, len(start) - 1))
    follows = (second[row] == first[row + 1]) & ~free[row] & ~free[row + 1]
    on_beat = _whole(start[row]) & _whole(length[row] + length[row + 1])
    split = ~(_whole(length[row]) & _whole(length[row + 1])) | (np.abs(length[row] - length[row + 1]) > _NEAR)
    row = row[follows & on_beat & split]
    return Pairs(row, length[row] / length[row + 1] if len(row) else np.zeros(0))


def other_rhythm(y: Floats, length: Floats, pairs: Pairs) -> Bools:
    """Which steps belong to a kind of pair that was plainly played in another ratio than the written."""
    other = np.zeros(len(y), bool)
    if not len(pairs.row):
        return other
    kinds = np.round(np.stack([length[pairs.row], length[pairs.row + 1]], axis=1), 3)
    for kind in np.unique(kinds, axis=0):
        of_kind = pairs.row[np.all(kinds == kind, axis=1)]
        off, written = y[of_kind] - y[of_kind + 1], float(np.log(kind[0] / kind[1]))
        if len(off) >= OTHER_PAIRS:
            misread = _misread(off, written)
        else:
            misread = len(off) >= 2 and _misread(off, written, 1.0) and _beyond_scatter(off, y, of_kind)
        other[of_kind] = other[of_kind + 1] = misread
    return other


def _beyond_scatter(off: Floats, y: Floats, of_kind: Ints) -> bool:
    """Two or three pairs, each alike and further off than the player's other steps scatter."""
    others = np.delete(y, np.concatenate([of_kind, of_kind + 1]))
    if len(others) < _FEWEST_OTHERS:
        return False
    scatter = float(np.median(np.abs(np.diff(others)))) * _DIFFERENCE_TO_PAIR
    return bool(np.ptp(off) < 0.5 * abs(np.median(off)) and np.min(np.abs(off)) > _BEYOND * scatter)


def own_rhythm(seconds: Floats, length: Floats) -> bool:
    """Whether the lengths played have next to nothing to do with those written, though these are unlike enough.

    A halting reader, whose ln seconds scatter by .35, keeps a correlation of .5 or more with lengths that unlike.
    """
    if len(seconds) < _FEWEST_OWN or float(np.log(length).std()) < _UNLIKE:
        return False
    played = np.log(seconds)
    if float(played.std()) < _UNLIKE:  # one even value throughout is another rhythm, and told there
        return False
    return bool(np.corrcoef(played, np.log(length))[0, 1] < _ALIKE)


def _misread(off: Floats, written: float, most: float = _MOST_OF_THEM) -> bool:
    """off: ln of played over written ratio. Much nearer to another plain ratio, by the middle and by most pairs."""
    others = _PLAIN[np.abs(_PLAIN - written) > 0.1] - written
    middle = float(np.median(off))
    nearest = others[np.argmin(np.abs(others - middle))]
    by_most = np.mean(np.abs(off - nearest) < np.abs(off)) >= most
    return bool(by_most and abs(middle - nearest) < _MUCH_NEARER * abs(middle))


def _whole(quarter: Floats) -> Bools:
    return np.asarray(np.abs(quarter - np.round(quarter)) < _NEAR)
