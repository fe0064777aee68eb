"""Following on seeded disturbances, beside the public matcher where it is installed; time, growth, memory.

``python tests/bench following``. F1 of pairs in every pass, mean over pieces; nothing is asserted. How far a following
is to be believed, and which piece it is: ``bench_belief``.
"""

from __future__ import annotations

import sys
import time
import zlib
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path.append(str(Path(__file__).resolve().parents[2]))

from keysense.following import Following, LiveFollower, follow
from keysense.notes import Take
from keysense.targets.target import Target
from tests.bench import disturb, packaged, speed, tunes
from tests.bench.public_matcher import public_matcher

Follow = Callable[[Target, Take], Following]
Way = Callable[[disturb.Playing, np.random.Generator], disturb.Playing]


def bases(n: int = 24) -> list[disturb.Playing]:
    """Invented pieces played plainly: 4 to 16 bars, one hand or two."""
    out = []
    for seed in range(n):
        rng = np.random.default_rng(7000 + seed)
        piece = tunes.piece(7000 + seed, bars=int(rng.integers(4, 17)), hands=1 + seed % 2)
        out.append(disturb.plain(piece, rng, quarter_s=float(rng.uniform(0.4, 1.0))))
    return out


def repeated(n: int = 15) -> list[disturb.Playing]:
    """Pieces with repeats written out, played straight through."""
    forms = ("AA", "AA'", "AABA", "ABA", "AAB")
    out = []
    for seed in range(n):
        rng = np.random.default_rng(8000 + seed)
        out.append(disturb.plain(tunes.piece(8000 + seed, bars=4 + 4 * (seed % 2), form=forms[seed % 5]), rng))
    return out


Sets = dict[str, tuple[list[disturb.Playing], Way]]


def ways() -> Sets:
    plain, again = bases(), repeated()
    sets: Sets = {name: (plain, way) for name, way in disturb.DISTURBANCES.items()}
    sets["written-out repeats"] = (again, disturb.nothing)
    sets["repeats, going back"] = (again, disturb.restart)
    for name, hardness in (("light", 1), ("medium", 2), ("heavy", 3)):
        sets[f"pupil, {name}"] = (plain, lambda p, rng, h=hardness: disturb.mixed(p, rng, h))
    return sets


def shipped_ways() -> Sets:
    """Each disturbance of the professional take that a registry package ships; none without the package."""
    if public_matcher() is None:
        return {}
    played = packaged.excerpts() * 3
    return {f"shipped, {name}": (played, way) for name, way in disturb.DISTURBANCES.items()}


def scores(name: str, playings: list[disturb.Playing], way: Way, follower: Follow) -> np.ndarray:
    """Mean F1 of right pitches and of all pairs, and CPU ms a 1000 presses."""
    rows, used, presses = [], 0.0, 0
    for k, base in enumerate(playings):
        playing = way(base, np.random.default_rng(zlib.crc32(f"{name}{k}".encode())))
        take = playing.take
        began = time.process_time()
        following = follower(playing.target, take)
        used += time.process_time() - began
        presses += len(take)
        rows.append(disturb.f1(playing, following))
    return np.append(np.mean(rows, axis=0), 1e6 * used / presses)


def table() -> None:
    public = public_matcher()
    if public is None:
        print("the public matcher is not installed: pip install 'keysense[bench]' shows it beside ours")
    print(f"{'disturbance':22} {'match':>7} {'intent':>7} {'ms/1000':>8}   public: match, ms/1000, loss ours : public")
    for name, (playings, way) in {**ways(), **shipped_ways()}.items():
        ours = scores(name, playings, way, follow)
        line = f"{name:22} {ours[0]:7.4f} {ours[1]:7.4f} {ours[2]:8.0f}"
        if public is not None:
            theirs = scores(name, playings, way, public)
            ratio = (1 - ours[0]) / (1 - theirs[0]) if theirs[0] < 1 else float("nan")
            line += f"   {theirs[0]:7.4f} {theirs[2]:7.0f} {ratio:6.2f}"
        print(line)


def live() -> None:
    """CPU time, for a note comes when it comes: what else the machine does meanwhile is no concern of this."""
    for name in ("restart", "octave", "another key"):
        plain = disturb.plain(tunes.piece(7, bars=560), np.random.default_rng(1))
        playing = disturb.DISTURBANCES[name](plain, np.random.default_rng(2))
        follower, took, at_once = LiveFollower(playing.target), [], 0
        for row, meant in zip(playing.take.notes, playing.presses["meant"].tolist(), strict=True):
            began = time.thread_time()
            at_once += follower.hear(float(row["onset_s"]), int(row["pitch"])).target == meant
            took.append(1e3 * (time.thread_time() - began))
        print(
            f"live, {name}, {len(playing.target.notes)} written: right at once {at_once / len(took):.4f}, CPU "
            f"{np.median(took):.2f} ms a note, p99 {np.quantile(took, 0.99):.2f} ms, most {max(took):.0f} ms"
        )


def main() -> None:
    with speed.by_numpy():
        table()
        print("\n-- live")
        live()
    print("\n-- speed")
    speed.speed()


if __name__ == "__main__":
    main()
