"""What may have been played: both hands or one, as written or shifted.

A hypothesis names the hands that sound and how far each is shifted. The plain reading is always tried, and each hand
alone, by taking the other hand's notes away (skipping them one by one would cost a price a note). A shift is tried
where the pitches of the take then overlap clearly better with those of the target.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.targets.target import Target

__all__ = ["Hypothesis", "hypotheses"]

_MIN_GAIN = 0.08
_MOST_SHIFTED = 4


@dataclass(frozen=True)
class Hypothesis:
    """``shift``: semitones for each hand that sounds; a hand that is not named is silent."""

    shift: tuple[tuple[str, int], ...]

    def rows(self, hand: npt.NDArray[np.str_]) -> npt.NDArray[np.int64]:
        """The rows of the target that sound."""
        return np.flatnonzero(np.isin(hand, [h for h, _ in self.shift]))

    def pitches(self, target: Target) -> npt.NDArray[np.int64]:
        """The pitch each target note would sound at, for every row of the target."""
        pitch = target.notes["pitch"].astype(np.int64)
        for hand, by in self.shift:
            pitch[target.notes["hand"] == hand] += by
        return pitch


def hypotheses(target: Target, played_pitch: npt.NDArray[np.int64]) -> list[Hypothesis]:
    """The readings worth decoding, the plain one first."""
    hand = target.notes["hand"]
    hands = sorted(np.unique(hand).tolist())
    heard = np.bincount(played_pitch, minlength=128).astype(float)
    written = {h: np.bincount(target.notes["pitch"][hand == h], minlength=128).astype(float) for h in hands}
    plain = Hypothesis(tuple((h, 0) for h in hands))
    kept = [plain]
    if len(hands) > 1:
        kept += [Hypothesis(((h, 0),)) for h in hands]
    base = max(_overlap(heard, written, h.shift) for h in kept)
    tried = [(_overlap(heard, written, s), s) for s in _shifts(hands)]
    tried = sorted((gain, s) for gain, s in ((o - base, s) for o, s in tried) if gain >= _MIN_GAIN)
    return kept + [Hypothesis(s) for _, s in tried[::-1][:_MOST_SHIFTED]]


def _shifts(hands: list[str]) -> list[tuple[tuple[str, int], ...]]:
    """Every shifted reading: the whole by up to two octaves, one hand by octaves, one hand alone by octaves."""
    whole = [tuple((h, by) for h in hands) for by in range(-24, 25) if by]
    if len(hands) < 2:
        return whole
    octaves = (-24, -12, 12, 24)
    one = [tuple((h, by if h == moved else 0) for h in hands) for moved in hands for by in octaves]
    alone = [((h, by),) for h in hands for by in range(-24, 25) if by]
    return whole + one + alone


def _overlap(
    heard: npt.NDArray[np.float64],
    written: dict[str, npt.NDArray[np.float64]],
    shift: tuple[tuple[str, int], ...],
) -> float:
    """Share of the played notes that the shifted target's pitches can account for."""
    total = np.zeros(128)
    for hand, by in shift:
        total += _moved(written[hand], by)
    if not heard.sum() or not total.sum():
        return 0.0
    return float(np.minimum(heard / heard.sum(), total / total.sum()).sum())


def _moved(counts: npt.NDArray[np.float64], by: int) -> npt.NDArray[np.float64]:
    out = np.zeros(128)
    if by >= 0:
        out[by:] = counts[: 128 - by]
    else:
        out[:by] = counts[-by:]
    return out
