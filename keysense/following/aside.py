"""Somebody else on the same keyboard, with no part on the page: a gap between the keys tells whose is whose.

A teacher who accompanies by ear, an octave and more below the tune, leaves keys between the two that nobody plays.
Where a take is lost, each side of such a gap is followed alone. One side is believed to be the player whose page it is
if it keeps the place by itself and every press of the other side lies outside the keys of the page, as it sounds.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.follow import follow
from keysense.following.following import Following
from keysense.notes import Take
from keysense.targets.target import Target

__all__ = ["Inside", "inside"]

Bools = npt.NDArray[np.bool_]


class Inside(NamedTuple):
    """rows: of the take, those of the player whose page it is. take: these alone; following: theirs."""

    rows: npt.NDArray[np.int64]
    take: Take
    following: Following


def inside(target: Target, take: Take, whole: Following) -> Inside | None:
    """The presses on one side of a gap and their following; None where the place was kept, or no side keeps it."""
    if not whole.lost or not len(target.notes):
        return None
    best: Inside | None = None
    for mine in _sides(take):
        if mine.sum() < c.ASIDE_FROM:
            continue
        own = Take(take.notes[mine], take.pedals, take.meta)
        following = follow(target, own)
        if following.lost or not _outside(target, following, take.notes["pitch"][~mine].astype(np.int64)):
            continue
        if best is None or following.confidence > best.following.confidence:
            set_aside = int((~mine).sum())
            best = Inside(np.flatnonzero(mine), own, replace(following, set_aside=set_aside))
    return best


def _sides(take: Take) -> list[Bools]:
    """Which presses lie above, and which below, each of the widest gaps between the keys that were played."""
    pitch = take.notes["pitch"].astype(np.int64)
    keys = np.unique(pitch)
    gaps = np.diff(keys)
    wide = [i for i in np.argsort(-gaps, kind="stable")[: c.ASIDE_GAPS].tolist() if gaps[i] >= c.ASIDE_SEMITONES]
    return [side for i in wide for side in (pitch > keys[i], pitch <= keys[i])]


def _outside(target: Target, following: Following, others: npt.NDArray[np.int64]) -> bool:
    """Whether no press lies between the lowest and the highest key of the page, each hand shifted as it was played."""
    hand = target.notes["hand"]
    shift = np.zeros(len(target.notes), np.int64)
    for name, by in following.shift_semitones.items():
        shift[hand == name] = by
    sounding = target.notes["pitch"].astype(np.int64) + shift
    return bool(((others < sounding.min()) | (others > sounding.max())).all())
