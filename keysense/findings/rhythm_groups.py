"""Groups of three or four notes that fill a beat or two, and those that were plainly played in another division.

Conventions
    A group is three or four neighbouring steps of one hand that begin on a beat of their bar and fill one beat or two,
    none of them beginning on a beat inside: two sixteenths and an eighth, a syncopation, a triplet. A division is the
    share of the whole group that each step has, so how long the group lasts together does not count. Distances are
    those of the natural logarithms of the shares, of all steps together (root of the sum of squares). Plain divisions
    give each step one, two or three of the same parts, of 3, 4, 6 or 8 in all.

    A written kind of group was played in another division where at least four of them came, their medians lie much
    nearer to a plain division than to the written, most of them do, and they are alike: their own distances from the
    medians are small beside that of the medians from the written. Divisions near to the written are lilt, no other.

Findings
    None of its own: what `keysense.findings.rhythm` tells and `keysense.findings.played` marks.

References
    Limits: ``practice.toml`` (common practice, no source).
"""

from __future__ import annotations

from functools import cache
from itertools import product

import numpy as np
import numpy.typing as npt

from keysense.findings.beats import NEAR, Beats, multiple
from keysense.findings.rhythm_pairs import Pairs
from keysense.practice import Practice

__all__ = ["groups_of", "other_division"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

_SIZES = (3, 4)
_PARTS, _PARTS_IN_ALL = (1, 2, 3), (3, 4, 6, 8)


def groups_of(beats: Beats, length: Floats, first: Ints, free: Bools, pairs: Pairs, practice: Practice) -> list[Ints]:
    """The groups of each written kind that came often enough: the steps of each, (groups, 3 or 4).

    None holds a free step, or a pair on the beat.
    """
    fewest, found = practice.value("rhythm_pairs"), []
    on_beat = np.append(np.flatnonzero(multiple(beats.since, beats.beat)), len(length))
    between = on_beat[1:] - on_beat[:-1]
    for size in _SIZES:
        row = on_beat[:-1][between == size]
        if len(row) < fewest:
            continue
        steps = row[:, None] + np.arange(size)
        steps = steps[_whole(steps, beats, length[steps], first, free, pairs)]
        if len(steps) >= fewest:
            _, kind, counts = np.unique(_kinds(length[steps]), return_inverse=True, return_counts=True)
            found += [steps[kind == k] for k in np.flatnonzero(counts >= fewest)]
    return found


def _whole(steps: Ints, beats: Beats, length: Floats, first: Ints, free: Bools, pairs: Pairs) -> Bools:
    """Which steps from one beat to another follow each other, fill one beat or two, and are no pair's."""
    row, last = steps[:, 0], steps[:, -1]
    share = length.sum(1) / beats.beat[row]
    fills = (np.abs(share - 1) < NEAR) | (np.abs(share - 2) < NEAR)
    follow = first[last] - first[row] == steps.shape[1] - 1
    uneven = length.max(1) - length.min(1) > NEAR  # three even notes may be a beat of another bar
    no_group = free.copy()
    no_group[pairs.row] = True
    return np.asarray(fills & follow & (beats.told[row] | uneven) & ~no_group[steps].any(1))


def other_division(y: Floats, length: Floats, groups: list[Ints], practice: Practice) -> Bools:
    """Which steps belong to a kind of group that was plainly played in another division than the written."""
    other = np.zeros(len(y), bool)
    for steps in groups:
        written = length[steps[0]] / length[steps[0]].sum()
        off = y[steps] - np.log(np.exp(y[steps]) @ written)[:, None]
        other[steps] = _misread(off, np.log(written), practice)
    return other


def _kinds(lengths: Floats) -> Ints:
    """One number for each group of written lengths, the same for the same."""
    number = np.zeros(len(lengths), np.int64)
    for column in np.rint(lengths / NEAR).astype(np.int64).T:
        number = (number << 16) + column
    return number


def _misread(off: Floats, written: Floats, practice: Practice) -> bool:
    """off: ln of played over written share, a row a group."""
    lilt, nearer = practice.value("rhythm_group_far"), practice.value("rhythm_nearer")
    ordered, n = np.sort(off, axis=0), len(off)
    middle = (ordered[(n - 1) // 2] + ordered[n // 2]) / 2
    far = float(_size(middle))
    if far * (1 + nearer) <= lilt:  # too near for any division that far
        return False
    others = _plain(len(written)) - written
    others = others[_size(others) > lilt]
    away = _size(others - middle)
    nearest = others[np.argmin(away)]
    by_most = np.mean(_size(off - nearest) < _size(off)) >= practice.value("rhythm_most")
    alike = np.median(_size(off - middle)) < practice.value("rhythm_alike") * far
    return bool(by_most and alike and away.min() < nearer * far)


def _size(values: Floats) -> Floats:
    return np.asarray(np.sqrt((values**2).sum(-1)))


@cache
def _plain(size: int) -> Floats:
    """ln of the shares of the plain divisions of so many steps, a row each."""
    parts = np.array([one for one in product(_PARTS, repeat=size) if sum(one) in _PARTS_IN_ALL], float)
    shares = np.unique(np.round(parts / parts.sum(1, keepdims=True), 9), axis=0)
    return np.asarray(np.log(shares))
