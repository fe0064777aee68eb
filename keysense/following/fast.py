"""The sweep made quicker by a compiler, where numba is installed: nothing changes but the time it takes.

`heard` is what sweeps a take. It uses what was compiled once that is loaded, and the numpy sweep until then, without
numba, and with one that fails in whatever way: slower, and without a word. `keysense.compiling` has the compiling done
in a process of its own, by `compile_into`, which leaves a mark beside what it made only if it and the numpy sweep took
the same paths through planted takes. `load` reads in what is marked, and never compiles.

A process that follows much without having loaded it (a bench, an import of many takes) loads it of itself.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.decode import Step, Sweep
from keysense.following.hypotheses import unshifted
from keysense.following.lane import GAIN, Lane
from keysense.targets.target import Target

__all__ = ["Swept", "compile_into", "heard", "load", "loaded", "unload"]

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Curve = list[float]

_MARK = "checked"
_MUCH = 20_000  # presses swept by numpy after which loading has paid for itself
_PLANTED = 12


class _State:
    """What was loaded in this process, and how much was swept without it."""

    kernel: ModuleType | None = None
    presses, load_at = 0, _MUCH


@dataclass(frozen=True)
class Swept:
    """What is left of a sweep: the value of the best path, and its steps."""

    best: float
    steps: npt.NDArray[np.void]

    def path(self) -> npt.NDArray[np.void]:
        """As `decode.Sweep.path`."""
        return self.steps


def heard(
    lane: Lane, pace: float, onset_s: Floats, pitch: Ints, *, jumps: bool = True, needed: Curve | None = None
) -> tuple[Sweep | Swept, Curve]:
    """Hear a take until its value falls below what is needed; the value after each press before."""
    if _State.kernel is None:
        _State.presses += len(pitch)
        if _State.presses >= _State.load_at:
            _State.load_at *= 4
            load()
    if _State.kernel is None or not lane.size:
        return _by_numpy(lane, pace, onset_s, pitch, jumps, needed)
    return _by_compiled(_State.kernel, lane, pace, onset_s, pitch, jumps, needed)


def _by_numpy(
    lane: Lane, pace: float, onset_s: Floats, pitch: Ints, jumps: bool, needed: Curve | None
) -> tuple[Sweep, Curve]:
    sweep = Sweep(lane, pace, jumps=jumps)
    curve: Curve = []
    hear = sweep.hear
    for i, (time_s, key) in enumerate(zip(onset_s.tolist(), pitch.tolist(), strict=True)):
        hear(i, time_s, key)
        if needed and sweep.best < needed[i]:
            break
        curve.append(sweep.best)
    return sweep, curve


def _by_compiled(
    kernel: ModuleType, lane: Lane, pace: float, onset_s: Floats, pitch: Ints, jumps: bool, needed: Curve | None
) -> tuple[Swept, Curve]:
    least = np.asarray(needed) if needed else np.full(len(pitch), -np.inf)
    values = {name: getattr(c, name.upper()) for name in kernel.Prices._fields if name != "gain"}
    prices = kernel.Prices(gain=np.asarray(GAIN), **values)
    onset_s, pitch = np.ascontiguousarray(onset_s, np.float64), np.ascontiguousarray(pitch, np.int64)
    curve, best, path = kernel.sweep(prices, kernel.Plan(*lane.arrays), onset_s, pitch, least, pace, jumps)
    steps = np.zeros(len(path), Step)
    steps["played"], steps["state"], steps["kind"], steps["how"] = path.T
    steps["note"] = lane.notes(path[:, 1], pitch[path[:, 0]], path[:, 2])
    return Swept(best, steps), curve.tolist()


def loaded() -> bool:
    """Whether takes are swept by what was compiled."""
    return _State.kernel is not None


def unload() -> None:
    """Back to numpy, until it is loaded again."""
    _State.kernel = None


def load(at: Path | None = None) -> bool:
    """Read in what was compiled for this machine, if it was; True where takes are now swept by it. Never compiles."""
    from keysense.compiling import folder

    at = folder() if at is None else at
    if _State.kernel is None and at is not None and (at / _MARK).is_file():
        try:
            kernel, processor = _kernel(at), (at / _MARK).read_text("utf-8")
            if processor == _processor():
                _planted(kernel, seeds=1)
                _State.kernel = kernel
        except Exception:  # noqa: S110 - whatever ails a compiler, following goes on without it
            pass
    return loaded()


def compile_into(at: Path) -> bool:
    """Compile into a folder and mark it, if both sweeps take the same paths through planted takes. Takes a minute."""
    at.mkdir(parents=True, exist_ok=True)
    kernel = _kernel(at)
    if not _planted(kernel, seeds=_PLANTED):
        return False
    (at / _MARK).write_text(_processor(), "utf-8")
    return True


def _kernel(at: Path) -> ModuleType:
    """The module that holds the sweep for the compiler, told to keep and look for what is compiled in a folder."""
    import numba

    config: Any = numba.config
    before, config.CACHE_DIR = config.CACHE_DIR, str(at)
    try:
        from keysense.following import kernel
    finally:
        config.CACHE_DIR = before
    return kernel


def _processor() -> str:
    """What was compiled runs on this processor, and on no lesser one."""
    from llvmlite import binding

    return f"{binding.get_host_cpu_name()} {binding.get_host_cpu_features().flatten()}"


def _with_a_repeat(target: Target) -> Target:
    """All of it to be played twice, its last quarter another one each time: two endings."""
    again, ends = target.notes.copy(), target.notes["onset_quarter"].max() - 1.0
    again["onset_quarter"] += target.bars["length_quarter"].sum()
    again["id"] = np.char.add(again["id"], np.where(target.notes["onset_quarter"] < ends, "~2", "'"))
    return replace(target, notes=np.concatenate([target.notes, again]), bars=np.concatenate([target.bars] * 2))


def _planted(kernel: ModuleType, seeds: int) -> bool:
    """Whether both sweeps take the same paths: with restarts, other pitches, repeats; with jumps and without."""
    same = True
    for seed in range(seeds):
        rng = np.random.default_rng(seed)
        notes = int(rng.integers(8, 200))
        pitch = rng.integers(55, 75, notes)
        target = Target.from_notes(
            onset_quarter=rng.integers(0, notes, notes) / 2, duration_quarter=np.full(notes, 0.5), pitch=pitch
        )
        target = _with_a_repeat(target) if seed % 2 else target
        stop = int(rng.integers(4, notes))
        keys = np.concatenate([target.notes["pitch"][:stop], target.notes["pitch"][stop // 2 :]]).astype(np.int64)
        keys[rng.random(len(keys)) < 0.1] += 1
        onset_s = np.cumsum(rng.exponential(0.3, len(keys)))
        for jumps in (True, False):
            lane = Lane(target, unshifted(target)[0])
            numpy, curve = _by_numpy(lane, -0.5, onset_s, keys, jumps, None)
            other, values = _by_compiled(kernel, lane, -0.5, onset_s, keys, jumps, None)
            same = same and np.array_equal(numpy.path(), other.path()) and np.allclose(curve, values, rtol=0, atol=1e-6)
    return same
