"""How often the intervals of the findings hold what was planted, how often nothing is called something, and how long
it takes. ``python tests/bench/bench_findings.py [seeds]`` prints the figures; nothing is asserted."""

from __future__ import annotations

import statistics
import sys
import time
from pathlib import Path

sys.path.append(str(Path(__file__).resolve().parents[2]))

from fixtures.make.cases import CASES, NULLS, Case
from fixtures.make.music import five_fingers
from fixtures.make.player import Planted, play
from keysense.findings import look


def shares(case: Case, seeds: int) -> tuple[float, float, float]:
    """Share of seeds whose interval holds the truth; whose interval leaves out zero; median of the value."""
    target = case.music.target()
    held = nonzero = 0
    values = []
    for seed in range(seeds):
        played = play(case.music, case.planted, seed)
        found = look(played.take(), target, following=played.following()).one(case.name, case.hand, case.mark)
        assert found is not None and found.low is not None and found.high is not None, case.label
        held += found.low <= played.truth[case.key] <= found.high
        nonzero += not found.low <= 0 <= found.high
        values.append(found.value)
    return held / seeds, nonzero / seeds, statistics.median(values)


def main(seeds: int = 1000) -> None:
    print(f"{'planted and held':58} {'planted':>9} {'median':>9} {'held':>7}   ({seeds} seeds)")
    for case in CASES:
        held, _, middle = shares(case, seeds)
        truth = play(case.music, case.planted, 0).truth[case.key]
        print(f"{case.label:58} {truth:9.2f} {middle:9.2f} {100 * held:6.1f}%{' rank' if case.rank else ''}")
    print(f"\n{'nothing planted, something claimed':58} {'claimed':>27}")
    for case in NULLS:
        print(f"{case.label:58} {100 * shares(case, seeds)[1]:26.1f}%")
    print()
    for times in (6, 25, 125, 625):
        played = play(five_fingers(times), Planted(ioi_noise=0.06, touch_noise=6), 1)
        take, target, following = played.take(), played.music.target(), played.following()
        spent = []
        for _ in range(7):
            start = time.process_time()
            look(take, target, following=following)
            spent.append(time.process_time() - start)
        print(f"all findings of {len(take):5} notes: {1000 * statistics.median(spent):7.1f} ms CPU (median of 7)")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
