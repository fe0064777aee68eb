"""What may have been played: both hands or one, as written or shifted.

A hypothesis gives each target note the pitch it would sound at, or none. The plain reading is always tried, and each
hand alone, by taking the other hand's notes away (skipping them one by one would cost a price a note). A shift is
tried where the pitches of the take then overlap clearly better with those of the target: the whole by up to two
octaves, a hand by octaves, and the whole in another key with a hand an octave off in it. Where the target tells no
hands apart, its notes below and above their middle pitch are taken for the two hands: a melody may be shared out.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, cached_property
from itertools import product

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.targets.target import Target

__all__ = ["SILENT", "Hypothesis", "hypotheses", "unshifted"]

SILENT = -1000
_FURTHEST = 24  # semitones
_DOWN = np.arange(2 * _FURTHEST + 1)[:, None] + np.arange(128)  # row k: a count of pitches moved down by k - _FURTHEST
Ints = npt.NDArray[np.int64]
Moves = tuple[int | None, ...]  # semitones for each part, None where it is silent


@dataclass(frozen=True, eq=False)
class Hypothesis:
    """``pitch``: for every row of the target the pitch it would sound at, `SILENT` where it does not.

    shift: semitones of each hand; moved: whether any part sounds elsewhere than it is written."""

    pitch: Ints
    shift: dict[str, int]
    moved: bool = False

    @cached_property
    def rows(self) -> Ints:
        """The rows of the target that sound."""
        return np.flatnonzero(self.pitch != SILENT)


@dataclass(frozen=True)
class _Parts:
    """The target's notes in one or two parts."""

    pitch: Ints
    part: Ints
    names: tuple[str, ...]  # the hand each part is reported as
    told: bool  # whether the target itself tells them apart

    @property
    def written(self) -> list[npt.NDArray[np.float64]]:
        """Pitch counts of each part."""
        return [np.bincount(self.pitch[self.part == i], minlength=128).astype(float) for i in range(len(self.names))]

    def hypothesis(self, moves: Moves) -> Hypothesis:
        pitch = self.pitch.copy()
        shift: dict[str, int] = {}
        for i, by in enumerate(moves):
            pitch[self.part == i] = SILENT if by is None else pitch[self.part == i] + by
            if by is not None and self.names[i] not in shift:
                shift[self.names[i]] = by
        return Hypothesis(pitch, shift, any(moves))


def hypotheses(target: Target, played_pitch: Ints) -> list[Hypothesis]:
    """The readings worth decoding, the plain one first."""
    parts = _parts(target)
    heard = np.bincount(played_pitch, minlength=128).astype(float)
    heard /= max(heard.sum(), 1.0)
    n = len(parts.names)
    tried: list[Moves] = [(0,) * n, *(_alone(n, i, 0) for i in range(n) if n > 1 and parts.told)]
    shifts = _shifts(n, parts.told)
    overlap = _overlaps(heard, parts.written, (*tried, *shifts))
    gain = overlap[len(tried) :] - overlap[: len(tried)].max()
    order = [i for i in np.argsort(-gain, kind="stable")[: c.SHIFTS_TRIED].tolist() if gain[i] >= c.SHIFT_WORTH_TRYING]
    return [parts.hypothesis(moves) for moves in [*tried, *(shifts[i] for i in order)]]


def unshifted(target: Target) -> list[Hypothesis]:
    """The readings that need no take to be thought of: as written, and each hand alone."""
    parts = _parts(target)
    n = len(parts.names)
    alone = [_alone(n, i, 0) for i in range(n)] if n > 1 and parts.told else []
    return [parts.hypothesis(moves) for moves in [(0,) * n, *alone]]


def _parts(target: Target) -> _Parts:
    hand, pitch = target.notes["hand"], target.notes["pitch"].astype(np.int64)
    names = tuple(sorted(np.unique(hand).tolist(), reverse=True))
    if len(names) > 1:
        part = np.searchsorted(np.asarray(names)[::-1], hand)
        return _Parts(pitch, len(names) - 1 - part, names, True)
    if len(pitch) < c.SPLIT_FROM_NOTES or pitch.min() == pitch.max():
        return _Parts(pitch, np.zeros(len(pitch), np.int64), names, False)
    return _Parts(pitch, (pitch < np.median(pitch)).astype(np.int64), names * 2, False)


@cache
def _shifts(n: int, told: bool) -> tuple[Moves, ...]:
    """Every shifted reading: the whole by up to two octaves, a part by octaves, in another key too, a part alone.

    told: whether the page tells the hands apart. Parts that are only guessed are not moved in two ways at once: with
    so many readings a few keys would fit any other tune.
    """
    whole: list[Moves] = [(by,) * n for by in range(-_FURTHEST, _FURTHEST + 1) if by]
    if n < 2:
        return tuple(whole)
    octaves = (-24, -12, 0, 12, 24)
    apart: list[Moves] = [moves for moves in product(octaves, repeat=n) if len(set(moves)) > 1] if n == 2 else []
    in_another_key = [moves for by in range(-11, 12) if by and n == 2 and told for moves in _octave_apart(by)]
    return (
        *whole,
        *apart,
        *in_another_key,
        *(_alone(n, i, by) for by in range(-_FURTHEST, _FURTHEST + 1) if by for i in range(n)),
    )


def _octave_apart(by: int) -> tuple[Moves, ...]:
    return (by, by + 12), (by, by - 12), (by + 12, by), (by - 12, by)


def _alone(n: int, part: int, by: int) -> Moves:
    return tuple(by if i == part else None for i in range(n))


@cache
def _moved(moves: tuple[Moves, ...]) -> list[tuple[Ints, npt.NDArray[np.bool_]]]:
    """For each part, of each reading: which row of `_DOWN` it is moved by, and whether it sounds."""
    by = [[move[part] for move in moves] for part in range(len(moves[0]))]
    return [
        (np.asarray([_FURTHEST - (b or 0) for b in moved]), np.asarray([b is not None for b in moved])[:, None])
        for moved in by
    ]


def _overlaps(
    heard: npt.NDArray[np.float64], written: list[npt.NDArray[np.float64]], moves: tuple[Moves, ...]
) -> npt.NDArray[np.float64]:
    """For each reading: how much of the take's pitches its pitches account for, 0..1."""
    keys = np.flatnonzero(heard)  # only on these can they overlap
    here, all_told = np.zeros((len(moves), len(keys))), np.zeros((len(moves), 1))
    for counts, (row, sounds) in zip(written, _moved(moves), strict=True):
        wide = np.zeros(128 + 2 * _FURTHEST)
        wide[_FURTHEST : 128 + _FURTHEST] = counts
        moved = wide[_DOWN]
        here += moved[:, keys][row] * sounds
        all_told += moved.sum(1, keepdims=True)[row] * sounds
    overlap = np.minimum(heard[keys], here / np.maximum(all_told, 1e-9)).sum(1)
    return np.asarray(np.round(overlap, 12))  # of shifts that overlap alike the first stays the first
