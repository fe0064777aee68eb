"""What may have been played: both hands or one, as written or shifted.

A hypothesis gives each target note the pitch it would sound at, or none. The plain reading is always tried, and each
hand alone, by taking the other hand's notes away (skipping them one by one would cost a price a note). A shift is
tried where the pitches of the take then overlap clearly better with those of the target. Where the target tells no
hands apart, its notes below and above their middle pitch are taken for the two hands: a melody may be shared out.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.targets.target import Target

__all__ = ["SILENT", "Hypothesis", "hypotheses", "unshifted"]

SILENT = -1000
Ints = npt.NDArray[np.int64]
Moves = tuple[int | None, ...]  # semitones for each part, None where it is silent


@dataclass(frozen=True, eq=False)
class Hypothesis:
    """``pitch``: for every row of the target the pitch it would sound at, `SILENT` where it does not."""

    pitch: Ints
    shift: dict[str, int]

    @property
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
        return Hypothesis(pitch, shift)


def hypotheses(target: Target, played_pitch: Ints) -> list[Hypothesis]:
    """The readings worth decoding, the plain one first."""
    parts = _parts(target)
    heard = np.bincount(played_pitch, minlength=128).astype(float)
    heard /= max(heard.sum(), 1.0)
    n = len(parts.names)
    tried: list[Moves] = [(0,) * n, *(_alone(n, i, 0) for i in range(n) if n > 1 and parts.told)]
    written = parts.written
    base = max(_overlap(heard, written, moves) for moves in tried)
    scored = [(_overlap(heard, written, moves) - base, moves) for moves in _shifts(n)]
    scored = sorted((s for s in scored if s[0] >= c.SHIFT_WORTH_TRYING), key=lambda s: -s[0])
    return [parts.hypothesis(moves) for moves in tried + [m for _, m in scored[: c.SHIFTS_TRIED]]]


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


def _shifts(n: int) -> list[Moves]:
    """Every shifted reading: the whole by up to two octaves, one part by octaves, one part alone by anything."""
    whole: list[Moves] = [(by,) * n for by in range(-24, 25) if by]
    if n < 2:
        return whole
    octaves = (-24, -12, 0, 12, 24)
    apart: list[Moves] = [moves for moves in product(octaves, repeat=n) if len(set(moves)) > 1] if n == 2 else []
    return whole + apart + [_alone(n, i, by) for by in range(-24, 25) if by for i in range(n)]


def _alone(n: int, part: int, by: int) -> Moves:
    return tuple(by if i == part else None for i in range(n))


def _overlap(heard: npt.NDArray[np.float64], written: list[npt.NDArray[np.float64]], moves: Moves) -> float:
    """How much of the take's pitches the shifted target's pitches account for, 0..1."""
    total = np.zeros(128)
    for counts, by in zip(written, moves, strict=True):
        if by is not None:
            total += _moved(counts, by)
    if not total.sum():
        return 0.0
    return float(np.minimum(heard, total / total.sum()).sum())


def _moved(counts: npt.NDArray[np.float64], by: int) -> npt.NDArray[np.float64]:
    out = np.zeros(128)
    if by >= 0:
        out[by:] = counts[: 128 - by]
    else:
        out[:by] = counts[-by:]
    return out
