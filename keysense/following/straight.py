"""Whether the jumps stand: only if they gain enough for each note they place elsewhere, more where jumps are rare.

The best path without jumps is swept only where it can differ from the best one with them. Up to the last press before
the first jump at which one state alone was living the two are one; as more is weighed where jumps are, it is worth no
less than what a sweep without them would have found. And once the one without has been sure, at the places of the other
and neither gaining on it, for `JOINED_FOR` presses, they are one again: the rest is heard only if it is this path that
stands.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.decode import JUMPED, Sweep
from keysense.following.fast import Swept, heard
from keysense.following.lane import Lane

__all__ = ["with_or_without"]

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Path = npt.NDArray[np.void]
_SAME = 1e-3  # nats


def with_or_without(
    sweep: Sweep | Swept, curve: list[float], lane: Lane, pace: float, onset_s: Floats, pitch: Ints
) -> tuple[Path, float]:
    """The path that stands, `decode.Step` rows, and its value; given a sweep with jumps and its value by press."""
    path = sweep.path()
    jumps, n = int((path["how"] == JUMPED).sum()), len(pitch)
    if not jumps:
        return path, sweep.best
    rare = c.JUMP_RARE * jumps * max(math.log(len(path) / (c.JUMP_USUAL * jumps)), 0.0)
    begin, other = 0, None
    if isinstance(sweep, Sweep):
        begin, other = _beginning(sweep, path, onset_s, pitch)
    least = sweep.best - c.JUMP_GAIN_PER_NOTE * (n - begin) - rare  # even if every note were placed elsewhere
    # no more is to come than if every press were right, nor much more than came with jumps, which lead there too
    to_come = np.minimum(c.RIGHT * np.arange(n, 0, -1.0), sweep.best - np.asarray(curve) + c.HOPELESS)
    needed: list[float] = (least - to_come).tolist()
    if other is not None:
        return _beside(other, begin, path, sweep.best, curve, onset_s, pitch, needed, rare)
    straight, kept = heard(lane, pace, onset_s, pitch, jumps=False, needed=needed)
    if len(kept) == n and sweep.best - straight.best < c.JUMP_GAIN_PER_NOTE * _elsewhere(path, straight.path()) + rare:
        return straight.path(), straight.best
    return path, sweep.best


def _beginning(sweep: Sweep, path: Path, onset_s: Floats, pitch: Ints) -> tuple[int, Sweep]:
    """The press from which the path without jumps may be another, and a sweep that is to hear it."""
    first = int(path["played"][path["how"] == JUMPED][0])
    alone = [before for before in sweep.alone if path["played"][0] < before[4] <= first]
    if not alone:
        return 0, Sweep(sweep.lane, sweep.log_pace, jumps=False)
    begin = alone[-1][4]
    struck = dict(zip(pitch[:begin].tolist(), onset_s[:begin].tolist(), strict=True))
    return begin, sweep.without_jumps(alone[-1], struck)


def _beside(
    sweep: Sweep, begin: int, path: Path, most: float, curve: list[float], onset_s: Floats, pitch: Ints,
    needed: list[float], rare: float,
) -> tuple[Path, float]:  # fmt: skip
    """Hear the path without jumps until it is the other again, or falls below what is needed; and choose."""
    times, keys, n = onset_s.tolist(), pitch.tolist(), len(pitch)
    place, last_jump = _places(path, n), int(path["played"][path["how"] == JUMPED][-1])
    alike, behind, i = 0, math.inf, begin
    while i < n and (alike < c.JOINED_FOR or len(sweep.trail) < c.SURE_BACK):
        sweep.hear(i, times[i], keys[i])
        if sweep.best < needed[i]:
            return path, most
        before, behind = behind, curve[i] - sweep.best
        alike = alike + 1 if i > last_jump and sweep.best_state == place[i] and abs(behind - before) < _SAME else 0
        i += 1
    elsewhere = _elsewhere(path[path["played"] < i], np.concatenate([path[path["played"] < begin], sweep.path()]))
    if behind >= c.JUMP_GAIN_PER_NOTE * elsewhere + rare:
        return path, most
    for k in range(i, n):
        sweep.hear(k, times[k], keys[k])
    other = sweep.path()
    return np.concatenate([path[path["played"] < other["played"][0]], other]), sweep.best


def _places(path: Path, n: int) -> list[int]:
    """The state that a path is in after each press."""
    after = np.searchsorted(path["played"], np.arange(n), side="right") - 1
    places: list[int] = np.where(after < 0, -1, path["state"][after]).tolist()
    return places


def _elsewhere(one: Path, other: Path) -> int:
    """How many presses are placed otherwise by the other path, or by one of the two alone."""
    places = dict(zip(one["played"].tolist(), one["state"].tolist(), strict=True))
    others = dict(zip(other["played"].tolist(), other["state"].tolist(), strict=True))
    return sum(places.get(i) != others.get(i) for i in places.keys() | others.keys())
