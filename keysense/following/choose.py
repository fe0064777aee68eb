"""Which reading stands: jumps only where they pay, a hand shifted or silent only where it wins clearly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.decode import Sweep
from keysense.following.hypotheses import Hypothesis, hypotheses
from keysense.following.table import Table
from keysense.notes import Take
from keysense.targets.target import Target

__all__ = ["Reading", "decode", "usual_pace"]


@dataclass(frozen=True)
class Reading:
    """The reading that stands, its path (`decode.Step` rows) and its value in nats."""

    hypothesis: Hypothesis
    path: npt.NDArray[np.void]
    value: float


def decode(target: Target, take: Take) -> Reading:
    """Sweep every hypothesis with and without jumps, and choose."""
    pitch = take.notes["pitch"].astype(np.int64)
    tried = hypotheses(target, pitch)
    table = Table(target, [(h, jumps) for h in tried for jumps in (True, False)])
    sweep = Sweep(table, usual_pace(target, take))
    hear = sweep.hear
    for i, (time_s, p) in enumerate(zip(take.notes["onset_s"].tolist(), pitch.tolist(), strict=True)):
        hear(i, time_s, p)
    readings = []
    for hypothesis in tried:
        pair = [i for i, lane in enumerate(table.lanes) if lane.hypothesis is hypothesis]
        if pair:
            readings.append(_with_or_without(sweep, hypothesis, *pair))
    best = readings[0]
    for other in readings[1:]:
        margin = c.HYPOTHESIS_MARGIN if best is readings[0] else 0.0
        if other.value > best.value + margin:
            best = other
    return best


def _with_or_without(sweep: Sweep, hypothesis: Hypothesis, jumping: int, straight: int) -> Reading:
    """Keep the jumps only if they gain enough for each note they place elsewhere."""
    with_jumps, without = sweep.path(jumping), sweep.path(straight)
    gain = sweep.best_value[jumping] - sweep.best_value[straight]
    lanes = sweep.table.lanes
    place = {int(s["played"]): int(s["state"]) - lanes[jumping].first for s in with_jumps}
    other = {int(s["played"]): int(s["state"]) - lanes[straight].first for s in without}
    elsewhere = sum(place.get(i) != other.get(i) for i in place.keys() | other.keys())
    if gain < c.JUMP_GAIN_PER_NOTE * elsewhere:
        return Reading(hypothesis, without, float(sweep.best_value[straight]))
    return Reading(hypothesis, with_jumps, float(sweep.best_value[jumping]))


def usual_pace(target: Target, take: Take | None) -> float:
    """A first guess at log seconds a quarter: the usual time between presses over the usual written distance."""
    onset = np.unique(np.round(target.notes["onset_quarter"], 6))
    played = np.zeros(0) if take is None else np.diff(take.notes["onset_s"])
    played = played[played > 0.03]
    if len(onset) < 2 or not len(played):
        return float(np.log(60.0 / (target.tempo_qpm or 100.0)))
    return float(np.log(np.median(played) / np.median(np.diff(onset))))
