"""Following made quicker by a compiler, where numba is installed: nothing changes but the time it takes.

`heard` is what sweeps a take, `second_look` what looks at it again. Both use what was compiled once that is loaded; the
numpy sweep and plain Python until then, without numba, and with one that fails in whatever way: slower, and without a
word. `keysense.compiling` has the compiling done in a process of its own, by `compile_into`, which leaves a mark beside
what it made only if planted takes come to the same with it and without (`planted`). `load` reads in what is marked, and
never compiles.

A process that follows much without having loaded it (a bench, an import of many takes) loads it of itself.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.decode import Step, Sweep
from keysense.following.lane import GAIN, Lane

__all__ = [
    "Compiled",
    "Swept",
    "by_compiled",
    "by_numpy",
    "compile_into",
    "heard",
    "load",
    "loaded",
    "second_look",
    "unload",
]

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Curve = list[float]

_MARK = "checked"
_MUCH = 20_000  # presses swept by numpy after which loading has paid for itself
_PLANTED = 12


class Compiled(NamedTuple):
    """What was compiled: the module of the sweep, and `looks.look_twice`."""

    sweep: ModuleType
    look_twice: Callable[..., Ints]


class _State:
    """What was loaded in this process, and how much was swept without it."""

    kernel: Compiled | None = None
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
        return by_numpy(lane, pace, onset_s, pitch, jumps, needed)
    return by_compiled(_State.kernel.sweep, lane, pace, onset_s, pitch, jumps, needed)


def second_look() -> Callable[..., Ints] | None:
    """What was compiled of `looks.look_twice`, if it was loaded."""
    return None if _State.kernel is None else _State.kernel.look_twice


def by_numpy(
    lane: Lane, pace: float, onset_s: Floats, pitch: Ints, jumps: bool, needed: Curve | None
) -> tuple[Sweep, Curve]:
    """`heard` without a compiler."""
    sweep = Sweep(lane, pace, jumps=jumps)
    curve: Curve = []
    hear = sweep.hear
    for i, (time_s, key) in enumerate(zip(onset_s.tolist(), pitch.tolist(), strict=True)):
        hear(i, time_s, key)
        if needed and sweep.best < needed[i]:
            break
        curve.append(sweep.best)
    return sweep, curve


def by_compiled(
    kernel: ModuleType, lane: Lane, pace: float, onset_s: Floats, pitch: Ints, jumps: bool, needed: Curve | None
) -> tuple[Swept, Curve]:
    """`heard` by what was compiled."""
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
    from keysense.following.planted import comes_to_the_same

    at = folder() if at is None else at
    if _State.kernel is None and at is not None and (at / _MARK).is_file():
        try:
            kernel, processor = _kernel(at), (at / _MARK).read_text("utf-8")
            if processor == _processor():
                comes_to_the_same(kernel, seeds=1)
                _State.kernel = kernel
        except Exception:  # noqa: S110 - whatever ails a compiler, following goes on without it
            pass
    return loaded()


def compile_into(at: Path) -> bool:
    """Compile into a folder and mark it, if planted takes come to the same with it and without. Takes a minute."""
    from keysense.following.planted import comes_to_the_same

    at.mkdir(parents=True, exist_ok=True)
    kernel = _kernel(at)
    if not comes_to_the_same(kernel, seeds=_PLANTED):
        return False
    (at / _MARK).write_text(_processor(), "utf-8")
    return True


def _kernel(at: Path) -> Compiled:
    """What there is for the compiler, told to keep and look for what is compiled in a folder."""
    import numba

    config: Any = numba.config
    before, config.CACHE_DIR = config.CACHE_DIR, str(at)
    try:
        from keysense.following import kernel, kernel_looks
    finally:
        config.CACHE_DIR = before
    return Compiled(kernel, kernel_looks.look_twice)


def _processor() -> str:
    """What was compiled runs on this processor, and on no lesser one."""
    from llvmlite import binding

    return f"{binding.get_host_cpu_name()} {binding.get_host_cpu_features().flatten()}"
