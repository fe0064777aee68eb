"""Planted takes, which what was compiled must follow as it is followed without: see `fast`."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from keysense.following.fast import Compiled, by_compiled, by_numpy
from keysense.following.hypotheses import unshifted
from keysense.following.lane import Lane
from keysense.following.looks import paired
from keysense.following.pairing import Sounding
from keysense.following.passes import stretches
from keysense.notes import Take
from keysense.targets.target import Target

__all__ = ["comes_to_the_same"]

_PACE = -0.5  # log seconds a quarter


def comes_to_the_same(kernel: Compiled, seeds: int) -> bool:
    """Whether paths and pairs are the same: with restarts, other pitches, repeats; with jumps and without."""
    return all(_alike(kernel, seed, jumps) for seed in range(seeds) for jumps in (True, False))


def _alike(kernel: Compiled, seed: int, jumps: bool) -> bool:
    rng = np.random.default_rng(seed)
    target = _target(rng, repeated=seed % 2 == 1)
    take = _take(rng, target)
    lane, onset_s, pitch = Lane(unshifted(target)[0]), take.notes["onset_s"], take.notes["pitch"].astype(int)
    plain, curve = by_numpy(lane, _PACE, onset_s, pitch, jumps, None)
    quick, values = by_compiled(kernel.sweep, lane, _PACE, onset_s, pitch, jumps, None)
    path = plain.path()
    same = np.array_equal(path, quick.path()) and np.allclose(curve, values, rtol=0, atol=1e-6)
    return same and (not len(path) or _looked_at_alike(kernel, lane, path, take, rng))


def _looked_at_alike(
    kernel: Compiled, lane: Lane, path: npt.NDArray[np.void], take: Take, rng: np.random.Generator
) -> bool:
    at, left = lane.onsets, rng.random(len(lane.onsets.rows)) < 0.5
    sounding = Sounding(at.rows, at.onset_of, at.onset_quarter, lane.hypothesis.pitch, left, at.at_row)
    parts = stretches(path, len(take.notes))
    plain, quick = (paired(parts, sounding, take, compiled) for compiled in (None, kernel.look_twice))
    return np.array_equal(plain, quick)


def _target(rng: np.random.Generator, *, repeated: bool) -> Target:
    notes = int(rng.integers(8, 200))
    pitch = rng.integers(55, 75, notes)
    target = Target.from_notes(
        onset_quarter=rng.integers(0, notes, notes) / 2, duration_quarter=np.full(notes, 0.5), pitch=pitch
    )
    return _with_a_repeat(target) if repeated else target


def _with_a_repeat(target: Target) -> Target:
    """All of it to be played twice, its last quarter another one each time: two endings."""
    again, ends = target.notes.copy(), target.notes["onset_quarter"].max() - 1.0
    again["onset_quarter"] += target.bars["length_quarter"].sum()
    again["id"] = np.char.add(again["id"], np.where(target.notes["onset_quarter"] < ends, "~2", "'"))
    return replace(target, notes=np.concatenate([target.notes, again]), bars=np.concatenate([target.bars] * 2))


def _take(rng: np.random.Generator, target: Target) -> Take:
    """Played to some place and again from half of the way there; every tenth key beside, some brushed in passing."""
    stop = int(rng.integers(4, len(target.notes)))
    pitch = np.concatenate([target.notes["pitch"][:stop], target.notes["pitch"][stop // 2 :]]).astype(int)
    pitch[rng.random(len(pitch)) < 0.1] += 1
    onset_s = np.cumsum(rng.exponential(0.3, len(pitch)))
    release_s = onset_s + rng.uniform(0.05, 0.6, len(pitch))
    return Take.from_notes(
        onset_s=onset_s, release_s=release_s, pitch=pitch, velocity=rng.integers(30, 100, len(pitch))
    )
