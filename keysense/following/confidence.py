"""How far a following is to be believed, and where the place was lost.

Three chances are told from what the path tells of itself: its value a press, the share of presses matched, jumps a
press, and how many presses there are. The confidence is the chance that the whole take was followed right, with a match
F1 of at least .98. The second is the chance that the place was kept at all: a pupil's hard day may well be followed
nine parts in ten, and then findings are worth having. The third is the chance that it is this tune at all: of five
keys, any tune can be laid along any other with patience, so takes of few keys must fit better. All are logistic
regressions on planted cases (`constants` says which). Too few presses prove nothing, however well they fit: the first
two are drawn to nought below about five. Of many presses in few keys the third is no longer to be believed, and the
first must then be more than nothing.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c

__all__ = ["confidence_of", "is_lost", "lost_at", "own_tune", "pair_confidence"]

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

_WINDOW = 8
_NONE, _FULL = np.array([c.PAIR_CONFIDENCE[kind] for kind in ("match", "substitution", "extra")]).T


def confidence_of(value: float, presses: int, matched: int, jumps: int) -> tuple[float, float]:
    """The chance that all was followed right, and that the place was kept; from the path's value in nats and counts."""
    if not presses:
        return 0.0, 0.0
    enough = 1.0 - math.exp(-((max(value - c.RIGHT, 0.0) / c.EVIDENCE) ** 2))
    told = _told(value, presses, matched, jumps)
    return enough * _chance(c.CONFIDENCE, told), enough * _chance(c.PLACE, told)


def own_tune(value: float, matched: int, jumps: int, pitch: npt.NDArray[np.integer]) -> float:
    """The chance that a take of these pitches is of this tune, and not of another made of the same keys."""
    presses = len(pitch)
    if not presses:
        return 0.0
    return _chance(c.OWN_TUNE, (*_told(value, presses, matched, jumps), _alike(pitch)))


def _chance(weights: tuple[float, ...], told: tuple[float, ...]) -> float:
    """The logistic regression of these weights."""
    odds = sum(weight * x for weight, x in zip(weights, told, strict=True))
    return 1.0 / (1.0 + math.exp(-min(max(odds, -50.0), 50.0)))


def is_lost(right: float, kept: float, own: float, presses: int) -> bool:
    """Whether the three chances say that nothing may be concluded."""
    many, least = c.UNBELIEVED
    return kept < c.PLACE_LIMIT or own < c.OWN_TUNE_LIMIT or (presses >= many and right < least)


def _told(value: float, presses: int, matched: int, jumps: int) -> tuple[float, ...]:
    """What the path tells of itself, in the order of `constants.CONFIDENCE`."""
    return (
        1.0, value / (c.RIGHT * presses), matched / presses, jumps / presses, math.log(presses),
        1.0 / max(presses, 4), min(value, 100.0) / 100.0,
    )  # fmt: skip


def _alike(pitch: npt.NDArray[np.integer]) -> float:
    """The chance that two presses taken at random are of one pitch: a fifth or more where five keys are played."""
    n, times = len(pitch), np.bincount(pitch)
    return float((times * (times - 1)).sum() / max(1, n * (n - 1)))


def pair_confidence(right: Bools, extra: Bools) -> Floats:
    """The chance that each press was paired right: by its kind, less where its neighbours fit badly too.

    right: of its note, or of its note's ornament; extra: of none; what is neither is another pitch.
    """
    kind = np.where(right, 0, np.where(extra, 2, 1))
    sure: Floats = _NONE[kind] + (_FULL - _NONE)[kind] * _around(right)
    return sure


def lost_at(onset_s: Floats, matched: Bools) -> float | None:
    """When the place was lost: the first press from which fewer than half of the next eight are matched."""
    if not len(onset_s):
        return None
    ahead = np.convolve(np.append(matched, np.zeros(_WINDOW - 1)), np.ones(_WINDOW), "valid")
    few = np.flatnonzero(ahead < _WINDOW / 2)
    return float(onset_s[few[0]])


def _around(right: Bools) -> Floats:
    """The share of the presses within `_WINDOW` / 2 on both sides that are right."""
    near, wide = np.ones(_WINDOW + 1), _WINDOW // 2
    those, all_near = (np.convolve(column, near)[wide:-wide] for column in (right, np.ones(len(right))))
    share: Floats = those / all_near
    return share
