"""What may have been played: both hands or one, as written or shifted.

A hypothesis says of each part of the target by how much it sounds elsewhere, or that it is silent. The plain reading is
always tried, and each hand alone, by taking the other hand's notes away (skipping them one by one would cost a price a
note). A shift is tried where the pitches of the take then overlap clearly better with those of the target: the whole by
up to two octaves, a hand by octaves, and the whole in another key with a hand an octave off in it. Where the target
tells no hands apart, its notes below and above their middle pitch are taken for the two hands: a melody may be shared
out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache, cached_property
from itertools import product
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.onsets import Onsets
from keysense.following.written import FURTHEST, KEYS, Written, written
from keysense.targets.target import Target

__all__ = ["Hypothesis", "hypotheses", "unshifted"]

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Moves = tuple[int | None, ...]  # semitones for each part, None where it is silent

_BY = np.arange(2 * FURTHEST + 1)[:, None]  # row k: where the counts begin of a part moved by FURTHEST - k
_NOWHERE = len(_BY)  # the row of a part that is silent


@dataclass(frozen=True, eq=False)
class Hypothesis:
    """``moves``: semitones that each part sounds from where it is written, None where it does not.

    fits: how much of the take's pitches its pitches account for, 0..1; NaN where no take was asked.
    """

    written: Written
    moves: Moves
    fits: float = math.nan

    @cached_property
    def onsets(self) -> Onsets:
        """Those of the rows of the target that sound."""
        return self.written.onsets(tuple(by is not None for by in self.moves))

    @cached_property
    def pitch(self) -> Ints:
        """The pitch of each row that sounds."""
        own, rows = self.written, self.onsets.rows
        moved = own.pitch if not self.moved else own.pitch + np.array([by or 0 for by in self.moves])[own.part]
        return moved if len(rows) == len(moved) else moved[rows]

    @cached_property
    def counts(self) -> Floats:
        """The notes on each key from ``-FURTHEST`` to ``KEYS + FURTHEST``, as it sounds."""
        out = np.zeros(self.written.counts.shape[1])
        for counts, by in zip(self.written.counts, self.moves, strict=True):
            if by is not None:
                out[FURTHEST + by : FURTHEST + by + KEYS] += counts[FURTHEST : FURTHEST + KEYS]
        return out

    @property
    def moved(self) -> bool:
        """Whether any part sounds elsewhere than it is written."""
        return any(self.moves)

    @property
    def shift(self) -> dict[str, int]:
        """Semitones of each hand."""
        named = zip(self.written.names[::-1], self.moves[::-1], strict=True)
        return {name: by for name, by in named if by is not None}  # of two parts of one name the first stands


class _Thinkable(NamedTuple):
    """Readings that can be thought of, the first ``always`` of them always tried.

    row: of each part, the row of the counts moved by `_BY` in each reading."""

    moves: tuple[Moves, ...]
    always: int
    row: tuple[Ints, ...]


def hypotheses(target: Target, played_pitch: Ints) -> list[Hypothesis]:
    """The readings worth decoding, the plain one first."""
    own = written(target)
    thinkable = _thinkable(len(own.names), own.told)
    fits = _fits(np.bincount(played_pitch, minlength=KEYS) / max(len(played_pitch), 1), own, thinkable)
    best = max(fits[: thinkable.always].tolist())
    worth = (fits[thinkable.always :] - best >= c.SHIFT_WORTH_TRYING).nonzero()[0] + thinkable.always
    shifts = sorted(worth.tolist(), key=lambda i: -float(fits[i]))[: c.SHIFTS_TRIED]
    return [Hypothesis(own, thinkable.moves[i], float(fits[i])) for i in (*range(thinkable.always), *shifts)]


def unshifted(target: Target) -> list[Hypothesis]:
    """The readings that need no take to be thought of: as written, and each hand alone."""
    own = written(target)
    thinkable = _thinkable(len(own.names), own.told)
    return [Hypothesis(own, moves) for moves in thinkable.moves[: thinkable.always]]


@cache
def _thinkable(n: int, told: bool) -> _Thinkable:
    """All readings of ``n`` parts; told: whether the page tells them apart. See `_shifts`."""
    always = [(0,) * n, *(_alone(n, i, 0) for i in range(n) if n > 1 and told)]
    moves = (*always, *_shifts(n, told))
    row = [[_NOWHERE if move[part] is None else FURTHEST - (move[part] or 0) for move in moves] for part in range(n)]
    return _Thinkable(moves, len(always), tuple(np.asarray(of_part) for of_part in row))


def _shifts(n: int, told: bool) -> tuple[Moves, ...]:
    """Every shifted reading: the whole by up to two octaves, a part by octaves, in another key too, a part alone.

    Parts that are only guessed are not moved in two ways at once: with so many readings a few keys would fit any other
    tune.
    """
    whole: list[Moves] = [(by,) * n for by in range(-FURTHEST, FURTHEST + 1) if by]
    if n < 2:
        return tuple(whole)
    octaves = (-24, -12, 0, 12, 24)
    apart: list[Moves] = [moves for moves in product(octaves, repeat=n) if len(set(moves)) > 1] if n == 2 else []
    in_another_key = [moves for by in range(-11, 12) if by and n == 2 and told for moves in _octave_apart(by)]
    return (
        *whole,
        *apart,
        *in_another_key,
        *(_alone(n, i, by) for by in range(-FURTHEST, FURTHEST + 1) if by for i in range(n)),
    )


def _octave_apart(by: int) -> tuple[Moves, ...]:
    return (by, by + 12), (by, by - 12), (by + 12, by), (by - 12, by)


def _alone(n: int, part: int, by: int) -> Moves:
    return tuple(by if i == part else None for i in range(n))


def _fits(heard: Floats, own: Written, thinkable: _Thinkable) -> Floats:
    """For each reading: how much of the take's pitches its pitches account for, 0..1."""
    keys = heard.nonzero()[0]  # only on these can they overlap
    counts = np.zeros((len(own.counts), _NOWHERE + 1, len(keys) + 1))  # of each part, moved: on these keys; on all
    counts[:, :_NOWHERE, :-1] = own.counts.take(_BY + keys, 1)
    up_to = np.zeros((len(own.counts), own.counts.shape[1] + 1))
    own.counts.cumsum(1, out=up_to[:, 1:])
    counts[:, :_NOWHERE, -1] = up_to[:, KEYS:] - up_to[:, :_NOWHERE]
    here = counts[0].take(thinkable.row[0], 0)
    for part, row in zip(counts[1:], thinkable.row[1:], strict=True):
        here += part.take(row, 0)
    share = 1.0 / np.maximum(here[:, -1:], 1.0)  # of one note in all that sound
    fits: Floats = np.minimum(here[:, :-1] * share, heard[keys]) @ np.ones(len(keys))
    return fits.round(12)  # of shifts that overlap alike the first stays the first
