"""Which reading stands: jumps only where they pay, a hand shifted or silent only where it wins clearly."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.decode import Sweep
from keysense.following.fast import Swept, heard
from keysense.following.hypotheses import Hypothesis, hypotheses
from keysense.following.lane import Lane
from keysense.following.straight import with_or_without
from keysense.following.values import median
from keysense.following.written import FURTHEST, KEYS, written
from keysense.notes import Take
from keysense.targets.target import Target

__all__ = ["Reading", "decode", "sweep_all", "usual_pace"]

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
_NEVER = -1e9


@dataclass(frozen=True)
class Reading:
    """The reading that stands, laid out, its path (`decode.Step` rows) and its value in nats."""

    hypothesis: Hypothesis
    lane: Lane
    path: npt.NDArray[np.void]
    value: float


def decode(target: Target, take: Take) -> Reading:
    """Sweep the likeliest reading, then the others as long as they keep up with it and can still win; choose."""
    onset_s, pitch = take.notes["onset_s"], take.notes["pitch"].astype(np.int64)
    best: Reading | None = None
    ahead: list[float] = []
    tried, pace = hypotheses(target, pitch), usual_pace(target, take)
    plain = tried[0]
    for hypothesis in _in_order(tried):
        least = _NEVER if best is None else best.value
        if best is not None and plain in (hypothesis, best.hypothesis):
            least += c.HYPOTHESIS_MARGIN if hypothesis is not plain else -c.HYPOTHESIS_MARGIN
        most = _most(hypothesis, pitch) if ahead else np.zeros(0)
        if ahead and least - most.sum() - c.RIGHT > 0.0:
            continue
        lane = Lane(hypothesis)
        sweep, curve = heard(lane, pace, onset_s, pitch, needed=_needed(most, least, ahead))
        if len(curve) == len(pitch) and sweep.best > least:
            path, value = with_or_without(sweep, curve, lane, pace, onset_s, pitch)
            best = Reading(hypothesis, lane, path, value) if value > least else best
        ahead = ahead or curve
    if best is None:
        raise ValueError("a target without notes has no reading")
    return best


def _most(hypothesis: Hypothesis, pitch: Ints) -> Floats:
    """What each press may come to at most: its key may be written, or one beside it."""
    sounds = hypothesis.counts > 0.0
    most = np.zeros(KEYS)
    for by, gain in ((2, c.NEAR[2]), (1, c.NEAR[1]), (0, c.RIGHT)):
        for way in {-by, by}:
            most[sounds[FURTHEST + way : FURTHEST + way + KEYS]] = gain
    return most[pitch]


def _needed(most: Floats, least: float, ahead: list[float]) -> list[float]:
    """The value below which a reading is given up after each press; nothing while there is no other.

    Given up is what can no longer come to more than ``least``, even if all the keys to come that are written were
    taken well, and what lies `HOPELESS` behind the reading swept first.
    """
    if not ahead:
        return []
    to_come = np.zeros(len(most))
    to_come[:-1] = most[:0:-1].cumsum()[::-1]
    needed: list[float] = np.maximum(least - to_come - c.RIGHT, np.asarray(ahead) - c.HOPELESS).tolist()
    return needed


def _in_order(tried: list[Hypothesis]) -> list[Hypothesis]:
    """The plain reading first, unless the pitches of the take speak clearly for another: that one spares the rest."""
    ahead = max(range(len(tried)), key=lambda i: tried[i].fits)
    if tried[ahead].fits < tried[0].fits + c.CLEARLY_LIKELIER:
        return tried
    return [tried[ahead], *tried[:ahead], *tried[ahead + 1 :]]


def sweep_all(
    lane: Lane, target: Target, take: Take, *, rival: list[float] | None = None
) -> tuple[Sweep | Swept, list[float]]:
    """Hear a whole take; the value after each press. Stops short where a rival's value is out of reach."""
    needed = [value - c.HOPELESS for value in rival or ()]
    pitch = take.notes["pitch"].astype(np.int64)
    return heard(lane, usual_pace(target, take), take.notes["onset_s"], pitch, needed=needed)


def usual_pace(target: Target, take: Take | None) -> float:
    """A first guess at log seconds a quarter: the usual time between presses over the usual written distance."""
    onset = written(target).all_onsets().onset_quarter
    played = np.zeros(0)
    if take is not None:
        onset_s = take.notes["onset_s"]
        steps_s = onset_s[1:] - onset_s[:-1]
        played = steps_s[steps_s > 0.03]
    if len(onset) < 2 or not len(played):
        return math.log(60.0 / (target.tempo_qpm or 100.0))
    return math.log(median(played) / median(onset[1:] - onset[:-1]))
