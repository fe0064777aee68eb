"""How often the intervals of the findings hold what was planted, how often nothing is called something, and how long
it takes. ``python tests/bench/bench_findings.py [seeds]`` prints the figures; nothing is asserted."""

from __future__ import annotations

import statistics
import sys
import time
from collections import Counter
from pathlib import Path

sys.path.append(str(Path(__file__).resolve().parents[2]))

from fixtures.make.cases import CASES, NULLS, Case
from fixtures.make.music import Music, five_fingers, millers_cat, snail
from fixtures.make.player import Planted, play
from keysense.comparing import Character, compare, shipped_characters
from keysense.findings import Reading, look


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


NOISE = {"ioi_noise": 0.08, "touch_noise": 8, "hold_noise": 0.1}
SLOW = Planted(**NOISE, tempo_qpm=72, loudness=46, hold=1.0, arch=0.5, breath_time=0.8, breath_air=0.4)
BRISK = Planted(**NOISE, tempo_qpm=112, loudness=84, hold=0.5)


def reading(music: Music, planted: Planted, seed: int) -> Reading:
    played = play(music, planted, seed)
    return look(played.take(), music.target(), following=played.following())


def alike(seeds: int) -> None:
    print(f"\n{'two takes alike, any difference claimed on the page':58} {'claimed':>27}   ({seeds} pairs)")
    for music in (snail(), millers_cat(), five_fingers(8)):
        planted = Planted(**NOISE, arch=0.15)
        two = ((reading(music, planted, 2 * s), reading(music, planted, 2 * s + 1)) for s in range(seeds))
        claims = sum(any(d.outcome for d in compare(*both).dimensions) for both in two)
        print(f"{music.title:58} {100 * claims / seeds:26.1f}%")


def pairs(seeds: int) -> None:
    proud, sleepy = shipped_characters()
    plans: tuple[tuple[str, Planted, Planted, Character, Character], ...] = (
        ("as asked", SLOW, BRISK, sleepy, proud),
        ("the other way", BRISK, SLOW, sleepy, proud),
        ("no difference made", Planted(**NOISE), Planted(**NOISE), sleepy, proud),
    )
    print(f"\nwords for two characters, Miller’s Cat ({seeds} pairs)")
    for label, a, b, wants_a, wants_b in plans:
        words: dict[str, Counter[str]] = {}
        for s in range(seeds):
            one, other = reading(millers_cat(), a, 2 * s), reading(millers_cat(), b, 2 * s + 1)
            for d in compare(one, other, wants_a=wants_a, wants_b=wants_b).dimensions:
                words.setdefault(d.name, Counter())[str(d.outcome)] += 1
        for name, counted in words.items():
            said = ", ".join(f"{word} {100 * n / seeds:.1f}%" for word, n in counted.most_common(2))
            print(f"  {label:20} {name:10} {said}")


def main(seeds: int = 1000) -> None:
    print(f"{'planted and held':58} {'planted':>9} {'median':>9} {'held':>7}   ({seeds} seeds)")
    for case in CASES:
        held, _, middle = shares(case, seeds)
        truth = play(case.music, case.planted, 0).truth[case.key]
        print(f"{case.label:58} {truth:9.2f} {middle:9.2f} {100 * held:6.1f}%{' rank' if case.rank else ''}")
    print(f"\n{'nothing planted, something claimed':58} {'claimed':>27}")
    for case in NULLS:
        print(f"{case.label:58} {100 * shares(case, seeds)[1]:26.1f}%")
    alike(seeds // 2)
    pairs(seeds // 2)
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
