"""Which reading stands: jumps only where they pay, a hand shifted or silent only where it wins clearly."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.decode import JUMPED, Sweep
from keysense.following.hypotheses import Hypothesis, hypotheses
from keysense.following.lane import Lane
from keysense.notes import Take
from keysense.targets.target import Target

__all__ = ["Reading", "decode", "sweep_all", "usual_pace"]


_NEVER = -1e9


@dataclass(frozen=True)
class Reading:
    """The reading that stands, its path (`decode.Step` rows) and its value in nats."""

    hypothesis: Hypothesis
    path: npt.NDArray[np.void]
    value: float


def decode(target: Target, take: Take) -> Reading:
    """Sweep the likeliest reading, then the others as long as they keep up with it; choose."""
    pitch = take.notes["pitch"].astype(np.int64)
    best: Reading | None = None
    ahead: list[float] = []
    tried = hypotheses(target, pitch)
    plain = tried[0]
    for hypothesis in _in_order(tried, pitch):
        lane = Lane(target, hypothesis)
        sweep, curve = sweep_all(lane, target, take, rival=ahead)
        least = _NEVER if best is None else best.value
        if best is not None and plain in (hypothesis, best.hypothesis):
            least += c.HYPOTHESIS_MARGIN if hypothesis is not plain else -c.HYPOTHESIS_MARGIN
        if len(curve) == len(pitch) and sweep.best > least:
            reading = _with_or_without(sweep, lane, target, take)
            best = reading if reading.value > least else best
        ahead = ahead or curve
    if best is None:
        raise ValueError("a target without notes has no reading")
    return best


def _in_order(tried: list[Hypothesis], played_pitch: npt.NDArray[np.int64]) -> list[Hypothesis]:
    """The plain reading first, unless the pitches of the take speak clearly for another: that one spares the rest."""
    heard = np.bincount(played_pitch, minlength=128) / max(len(played_pitch), 1)
    overlap = []
    for hypothesis in tried:
        sounding = hypothesis.pitch[hypothesis.rows]
        written = np.bincount(sounding[(sounding >= 0) & (sounding < 128)], minlength=128)
        overlap.append(float(np.minimum(heard, written / max(len(sounding), 1)).sum()))
    ahead = int(np.argmax(overlap))
    if overlap[ahead] < overlap[0] + c.CLEARLY_LIKELIER:
        return tried
    return [tried[ahead], *tried[:ahead], *tried[ahead + 1 :]]


def sweep_all(
    lane: Lane, target: Target, take: Take, *, jumps: bool = True, rival: list[float] | None = None
) -> tuple[Sweep, list[float]]:
    """Hear a whole take; the value after each press. Stops short where a rival's value is out of reach."""
    sweep = Sweep(lane, usual_pace(target, take), jumps=jumps)
    curve: list[float] = []
    hear = sweep.hear
    for i, (time_s, pitch) in enumerate(zip(take.notes["onset_s"].tolist(), take.notes["pitch"].tolist(), strict=True)):
        hear(i, time_s, pitch)
        if rival and sweep.best < rival[i] - c.HOPELESS:
            break
        curve.append(sweep.best)
    return sweep, curve


def _with_or_without(sweep: Sweep, lane: Lane, target: Target, take: Take) -> Reading:
    """Keep the jumps only if they gain enough for each note they place elsewhere, more where jumps are rare."""
    path = sweep.path()
    jumping = Reading(lane.hypothesis, path, sweep.best)
    if not (path["how"] == JUMPED).any():
        return jumping
    straight, _ = sweep_all(lane, target, take, jumps=False)
    other = straight.path()
    places = dict(zip(path["played"].tolist(), path["state"].tolist(), strict=True))
    others = dict(zip(other["played"].tolist(), other["state"].tolist(), strict=True))
    elsewhere = sum(places.get(i) != others.get(i) for i in places.keys() | others.keys())
    jumps = int((path["how"] == JUMPED).sum())
    rare = c.JUMP_RARE * jumps * max(math.log(len(path) / (c.JUMP_USUAL * jumps)), 0.0)
    if sweep.best - straight.best < c.JUMP_GAIN_PER_NOTE * elsewhere + rare:
        return Reading(lane.hypothesis, other, straight.best)
    return jumping


def usual_pace(target: Target, take: Take | None) -> float:
    """A first guess at log seconds a quarter: the usual time between presses over the usual written distance."""
    onset = np.unique(np.round(target.notes["onset_quarter"], 6))
    played = np.zeros(0) if take is None else np.diff(take.notes["onset_s"])
    played = played[played > 0.03]
    if len(onset) < 2 or not len(played):
        return float(np.log(60.0 / (target.tempo_qpm or 100.0)))
    return float(np.log(np.median(played) / np.median(np.diff(onset))))
