"""CPU time, growth and memory of following, by numpy and by what a compiler made of it.

CPU time is that of the process, the best of several runs, since other work on a machine makes it longer. A loop of a
million steps is timed beside it: figures of two machines, or two hours, compare by their ratio to that.
"""

from __future__ import annotations

import os
import re
import resource
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np

sys.path.append(str(Path(__file__).resolve().parents[2]))

from keysense import compiling
from keysense.following import fast, follow
from tests.bench import disturb, tunes

EXCERPTS, MOVEMENT_BARS = 24, 700
GROWTH_BARS = (40, 160, 400, 700, 1600)


@contextmanager
def by_numpy() -> Iterator[None]:
    """No compiler, not even after much following."""
    before = os.environ.get(compiling.OFF)
    os.environ[compiling.OFF] = "1"
    fast.unload()
    try:
        yield
    finally:
        if before is None:
            del os.environ[compiling.OFF]
        else:
            os.environ[compiling.OFF] = before


def compiled() -> bool:
    """Have it compiled apart, as keysense does, and read it in."""
    subprocess.run([sys.executable, "-m", "keysense.compiling"], check=False, stderr=subprocess.DEVNULL)
    return fast.load()


def excerpts() -> list[disturb.Playing]:
    """Of 150 to 400 presses; half of them with a few other pitches, half a pupil's on a middling day."""
    out: list[disturb.Playing] = []
    seed = 9000
    while len(out) < EXCERPTS:
        rng = np.random.default_rng(seed)
        playing = disturb.plain(tunes.piece(seed, bars=int(rng.integers(16, 41)), hands=1 + seed % 2), rng)
        playing = disturb.mixed(playing, rng, 2) if seed % 4 > 1 else disturb.other_pitch(playing, rng, 0.02)
        out += [playing] if 150 <= len(playing.presses) <= 400 else []
        seed += 1
    return out


def long_piece(bars: int) -> disturb.Playing:
    rng = np.random.default_rng(1)
    playing = disturb.other_pitch(disturb.plain(tunes.piece(7, bars=bars), rng), rng, 0.02)
    return disturb.restart(playing, rng)


def cpu_s(playing: disturb.Playing, runs: int) -> float:
    target, take, took = playing.target, playing.take, []
    for _ in range(runs):
        began = time.process_time()
        follow(target, take)
        took.append(time.process_time() - began)
    return min(took)


def loop_ms() -> float:
    took = []
    for _ in range(5):
        began = time.process_time()
        total = 0
        for i in range(1_000_000):
            total += i * i % 7
        took.append(time.process_time() - began)
    return 1e3 * min(took)


def times(name: str) -> None:
    pieces = excerpts()
    sizes = [len(p.presses) for p in pieces]
    took_s = [cpu_s(p, 5) for p in pieces]
    each = [1e6 * s / n for s, n in zip(took_s, sizes, strict=True)]
    print(
        f"{name}: {len(pieces)} excerpts of {min(sizes)} to {max(sizes)} presses: median {np.median(each):.0f}, "
        f"all together {1e6 * sum(took_s) / sum(sizes):.0f}, most {max(each):.0f} ms/1000; "
        f"a loop of a million steps {loop_ms():.0f} ms"
    )
    presses, costs = [], []
    for bars in GROWTH_BARS:
        playing = long_piece(bars)
        presses.append(len(playing.presses))
        costs.append(cpu_s(playing, 5 if bars < 1000 else 3))
        print(
            f"{name}: {len(playing.target.notes):6} written, {presses[-1]:6} played: "
            f"{1e6 * costs[-1] / presses[-1]:4.0f} ms/1000"
        )
    print(f"{name}: growth exponent {np.polyfit(np.log(presses), np.log(costs), 1)[0]:.2f}")


def peak_mb() -> float:
    """The most this process had in memory; on Linux of its own alone, elsewhere its parent's may stand in it."""
    status = Path("/proc/self/status")
    if status.is_file():
        return float(re.findall(r"VmHWM:\s*(\d+)", status.read_text())[0]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def memory(bars: int, *, quick: bool) -> None:
    """Peak resident memory while a piece is followed, above that with everything imported; in a process of its own."""
    if quick and not fast.load():
        return
    small, playing = disturb.plain(tunes.piece(1, bars=4), np.random.default_rng(1)), long_piece(bars)
    follow(small.target, small.take)  # whatever is imported late
    target, take = playing.target, playing.take
    before = peak_mb()
    follow(target, take)
    most = peak_mb()
    print(
        f"{'compiled' if quick else 'numpy'}: {len(target.notes)} written: {most - before:.0f} MB above "
        f"{before:.0f} MB with everything imported"
    )


def memories() -> None:
    for quick in (False, True):
        environment = {**os.environ} if quick else {**os.environ, compiling.OFF: "1"}
        for bars in (MOVEMENT_BARS, GROWTH_BARS[-1]):
            command = [sys.executable, str(Path(__file__)), str(bars), "quick" if quick else ""]
            done = subprocess.run(command, env=environment, check=True, stdout=subprocess.PIPE, text=True)
            print(done.stdout, end="")


def speed() -> None:
    with by_numpy():
        times("numpy")
    if compiled():
        times("compiled")
        fast.unload()
    else:
        print("no compiler: pip install 'keysense[fast]' shows what it gives")
    memories()


if __name__ == "__main__":
    memory(int(sys.argv[1]), quick=sys.argv[2] == "quick")
