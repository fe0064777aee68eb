"""Coverage of the figures that are worked out from bare arrays, and the time all findings take: for bench_findings."""

from __future__ import annotations

import math
import statistics
import time

import numpy as np

from fixtures.make.music import Marked, Music, both_hands, five_fingers
from fixtures.make.player import Planted, Played, play
from keysense.findings import look
from keysense.findings.clock import clock_and_keys
from keysense.findings.closing import fit_close, ritardando_time
from keysense.findings.repeated import repeated_runs

__all__ = ["parted", "speed"]

NOTES = (8, 16, 32, 64)


def parted(seeds: int) -> None:
    """Clock and keys, the close, and runs played again, from generated steps."""
    rng = np.random.default_rng(1)
    print(f"\n{'held, from bare steps':58} {'first':>9} {'second':>9} {'told':>7}   ({seeds} seeds)")
    for n in (32, 64, 128):
        for clock, keys in ((20, 8), (10, 10)):
            rows = [clock_and_keys(np.array_split(_steps(rng, n, clock, keys), n // 30)) for _ in range(seeds)]
            told = [row for row in rows if row is not None]
            held = [[low <= true <= high for (_, low, high), true in zip(row, (clock, keys), strict=True)]
                    for row in told]  # fmt: skip
            _line(f"pulse {clock} ms and keys {keys} ms, {n} steps", *np.mean(held, axis=0), len(told) / seeds)
    edges = np.linspace(0, 1, 9)
    for w, q in ((0.5, 2.0), (0.6, 3.0)):
        true = np.log(ritardando_time(edges[:-1], edges[1:], np.array(w), np.array(q)) / np.diff(edges))
        fits = [fit_close(edges[:-1], edges[1:], true + rng.normal(0, 0.04, 8), rng.normal(0, 0.04, 20))
                for _ in range(seeds // 2)]  # fmt: skip
        speeds = [fit.speed.low <= w <= fit.speed.high for fit in fits if fit.speed.low is not None]
        told = [fit for fit in fits if fit.bend.low is not None and (fit.speed.high or 1) < 0.8]
        bends = [fit.bend.low <= q <= fit.bend.high for fit in told]
        _line(f"close at {w} of the pace, bend {q:g}", np.mean(speeds), np.mean(bends), len(speeds) / len(fits))
    profile = np.array([0, 3, -2.5, 2, -3, 2.5, -2, 0])
    profile -= np.polynomial.Polynomial.fit(np.arange(8), profile, 1)(np.arange(8))
    for playings in (4, 8, 16):
        found = [repeated_runs(125 * np.arange(8) + profile + rng.normal(0, 4, (playings, 8))) for _ in range(seeds)]
        left = (
            np.eye(8) - np.linalg.qr(np.vander(np.arange(8.0), 2))[0] @ np.linalg.qr(np.vander(np.arange(8.0), 2))[0].T
        )
        apart, uneven = 4 * float(np.sqrt(np.diag(left)).mean()), math.sqrt(float((profile**2).mean()))
        _line(f"one run of 8 notes, {playings} playings: uneven, unstable",
              np.mean([f.uneven[0] <= uneven <= f.uneven[1] for f in found]),
              np.mean([f.unstable[0] <= apart <= f.unstable[1] for f in found]), 1.0)  # fmt: skip


def _steps(rng: np.random.Generator, n: int, clock: float, keys: float) -> np.ndarray:
    return 500 + rng.normal(0, clock, n) + np.diff(rng.normal(0, keys, n + 1))


def _line(label: str, first: float, second: float, told: float) -> None:
    print(f"{label:58} {100 * first:8.1f}% {100 * second:8.1f}% {100 * told:6.1f}%")


def marked(times: int) -> Music:
    """Both hands with phrases, slurs, dots, hairpins, loudnesses and accents in every other bar."""
    marks = []
    for k in range(times):
        at = 8.0 * k
        marks += [
            Marked("slur", at, at + 3, f"s{k}", "R"), Marked("slur", at + 4, at + 5, f"z{k}", "R"),
            Marked("staccato", at + 6, at + 8, f"t{k}", "R"), Marked("slur", at, at + 7, f"l{k}", "L"),
            Marked("crescendo" if k % 2 else "diminuendo", at, at + 8, f"c{k}", "R"),
            Marked("accent", at + 2, at + 2, f"a{k}", "L"), Marked("dynamic", at, at + 8, f"d{k}", "", "fp"[k % 2]),
        ]  # fmt: skip
    phrases = ((8.0 * k, 8.0 * k + 8) for k in range(times))
    return both_hands(2 * times).with_phrases(*phrases).with_marks(*marks)


def speed() -> None:
    """CPU time of all findings of short and long takes, and how it grows."""
    plain = Planted(ioi_noise=0.06, touch_noise=6)
    rich = Planted(ioi_noise=0.06, touch_noise=6, hold_noise=0.1, lag_noise_s=0.01, arch=0.1, pedal_s=(-0.02, 0.12),
                   breath_time=0.2)  # fmt: skip
    print(f"\n{'all findings, the least of 7, and a loop of a million steps':62} {'ms CPU':>8} {'loop':>7}")
    for label, make, plan, times in (
        ("one hand", five_fingers, plain, (6, 25, 125, 625)),
        ("both hands, pedal, a mark every quarter", marked, rich, (3, 12, 60, 300)),
    ):
        spent = []
        for k in times:
            played = play(make(k), plan, 1)
            ms, loop = _least(played)
            spent.append((len(played.onset_s), ms))
            print(f"{label + ', ' + str(len(played.onset_s)) + ' notes':62} {ms:8.1f} {loop:7.1f}")
        (few, quick), (many, slow) = spent[1], spent[-1]
        print(f"{label + ': growth from ' + str(few) + ' notes':62} exponent {math.log(slow / quick, many / few):.2f}")


def _least(played: Played) -> tuple[float, float]:
    take, target, following = played.take(), played.music.target(), played.following()
    spent, loops = [], []
    for _ in range(7):
        start = time.process_time()
        look(take, target, following=following)
        middle = time.process_time()
        for _ in range(1_000_000):
            pass
        spent.append(1000 * (middle - start))
        loops.append(1000 * (time.process_time() - middle))
    return min(spent), statistics.median(loops)
