"""How often the intervals of the findings hold what was planted, how often nothing is called something, and how long
it takes. ``python tests/bench/bench_findings.py [seeds]`` prints the figures; nothing is asserted."""

from __future__ import annotations

import math
import statistics
import sys
from collections import Counter
from pathlib import Path

sys.path.append(str(Path(__file__).resolve().parents[2]))

from scipy.stats import nct, t

from fixtures.make.cases import CASES, NULLS, Case
from fixtures.make.listening import heard_alone
from fixtures.make.music import Marked, Music, both_hands, five_fingers, millers_cat, snail
from fixtures.make.player import Planted, play
from keysense.comparing import Character, compare, shipped_characters
from keysense.findings import Reading, look
from keysense.findings.claims import weighed
from keysense.findings.hairpins import ASKED
from keysense.words.choosing import told
from keysense.words.heard import has_word, way
from tests.bench.parts import parted, speed


def shares(case: Case, seeds: int) -> tuple[float, float, float, float]:
    """Share of seeds whose interval holds the truth; whose interval leaves out zero; median of the value; share of
    seeds in which a direction would be claimed on a page that asks nothing else."""
    held = nonzero = claimed = 0
    values = []
    for seed in range(seeds):
        played = play(case.music, case.planted, seed)
        found = heard_alone(played, case.name, case.hand, case.mark)
        assert found is not None and found.low is not None and found.high is not None, case.label
        held += found.low <= played.truth[case.key] <= found.high
        nonzero += not found.low <= 0 <= found.high
        claimed += not found.low <= 0 <= found.high and weighed([found])[0].stands
        values.append(found.value)
    return held / seeds, nonzero / seeds, statistics.median(values), claimed / seeds


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
        compared = [compare(*both).dimensions for both in two]
        claims = sum(any(d.outcome for d in dimensions) for dimensions in compared)
        said = ", ".join(
            f"{rows[0].name} {100 * sum(d.way == 'same' for d in rows) / seeds:.0f}%"
            for rows in zip(*compared, strict=True)
        )
        print(f"{music.title:58} {100 * claims / seeds:26.1f}%   called alike: {said}")


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


SMALLEST = {8: (19, 31), 16: (14, 22), 32: (10, 16)}  # notes: the smallest rise to be seen at noise 6 and at 10


def seen_by_theory(n: int, noise: float, rise: float) -> float:
    """How often Student's one-sided test sees it in these notes alone, exactly: the noncentral t (scipy)."""
    spread = math.sqrt(noise**2 + 1 / 12)  # velocities are whole numbers
    steepness = rise / (n - 1) / spread * math.sqrt(n * (n**2 - 1) / 12)
    return float(nct.sf(t.ppf(ASKED, n - 2), n - 2, steepness))


def smallest_rise(seeds: int) -> None:
    """seen: among the hand's other notes; alone: where the hairpin is all there is, beside what theory allows."""
    print(f"\n{'a rise from first to last note':40} {'seen':>7} {'said':>7} {'alone':>7} {'theory':>7} {'held':>7} "
          f"{'of nothing':>11}")  # fmt: skip
    for n, rises in SMALLEST.items():
        for noise, rise in zip((6, 10), rises, strict=True):
            among = five_fingers(6).with_marks(Marked("crescendo", 4, 4 + n, "c1", "R"))
            alone = five_fingers(n // 8).with_marks(Marked("crescendo", 0, n, "c1", "R"))
            plan = Planted(touch_noise=noise, rises={"c1": rise * n / (n - 1)})
            flat = Planted(touch_noise=noise, rises={"c1": 0})
            (held, seen, _, said), (_, lone, *_), (*_, nothing) = (
                shares(Case("rise", music, planted, "rise:c1", "R", "c1"), seeds)
                for music, planted in ((among, plan), (alone, plan), (among, flat))
            )
            label = f"{n} notes, touch noise {noise}, rise {rise}"
            shares_of = (seen, said, lone, seen_by_theory(n, noise, rise), held)
            print(f"{label:40} {' '.join(f'{100 * share:6.1f}%' for share in shares_of)} {100 * nothing:10.1f}%")


def by_number(seeds: int) -> None:
    """Coverage of one kind of interval each, at 8 to 64 notes."""
    print(f"\n{'held by the number of notes':34} {'8':>8} {'16':>8} {'32':>8} {'64':>8}")
    kinds: tuple[tuple[str, str, Planted, str | None], ...] = (
        ("tempo", "tempo", Planted(ioi_noise=0.08), None),
        ("drift", "drift", Planted(ioi_noise=0.06, drift=0.1), None),
        ("rise (t)", "rise:c1", Planted(touch_noise=6, rises={"c1": 15}), "crescendo"),
        ("overlap (rank)", "overlap", Planted(overlap_s=0.02, overlap_noise_s=0.02), "slur"),
        ("hold_ratio (rank)", "hold_ratio", Planted(hold=0.5, hold_noise=0.06), "staccato"),
        ("final_slowing", "final_slowing", Planted(ioi_noise=0.06), None),
        ("loudness", "loudness", Planted(touch_noise=7), None),
        ("evenness_timing", "evenness_timing", Planted(ioi_noise=0.08), None),
        ("evenness_timing_robust", "evenness_timing_robust", Planted(ioi_noise=0.08), None),
    )
    for label, key, plan, mark in kinds:
        row = []
        for n in (8, 16, 32, 64):
            music = five_fingers(n // 8)
            if mark is not None:
                music = music.with_marks(Marked(mark, 0, n, "c1", "R"))
            name = key.split(":")[0]
            truth = key.removesuffix("_robust")
            row.append("      - " if n == 8 and "evenness" in key else  # too few to tell, and it says so
                       f"{100 * shares(Case(name, music, plan, truth), seeds)[0]:7.1f}%")  # fmt: skip
        print(f"{label:34} {' '.join(row)}")


def _marked_all_over(times: int) -> Music:
    marks = []
    for k in range(times):
        at, way_of = 8 * k, "crescendo" if k % 2 else "diminuendo"
        marks += [Marked(way_of, at, at + 8, f"c{k}", "R"), Marked("accent", at + 2, at + 2, f"a{k}", "L"),
                  Marked("dynamic", at, at + 8, f"d{k}", "", "fp"[k % 2])]  # fmt: skip
    return both_hands(2 * times).with_phrases(*((8 * k, 8 * k + 8) for k in range(times))).with_marks(*marks)


NULL_PAGES = (
    ("both hands, a crescendo, two loudnesses", both_hands(8).with_phrases((0, 16), (16, 36)).with_marks(
        Marked("crescendo", 0, 16, "c1", "R"), Marked("dynamic", 0, 16, "p1", "", "p"),
        Marked("dynamic", 16, 40, "f1", "", "f"))),
    ("both hands, six hairpins, loudnesses, accents", _marked_all_over(6)),
    ("The Miller’s Cat, a crescendo, two loudnesses", millers_cat().with_marks(
        Marked("crescendo", 16, 24, "c1", "R"), Marked("dynamic", 0, 16, "p1", "", "p"),
        Marked("dynamic", 16, 32, "f1", "", "f"))),
    ("Snail at the Gate, eight notes, a crescendo", snail().with_marks(Marked("crescendo", 0, 8, "c1", "R"))),
)  # fmt: skip


def pages(seeds: int) -> None:
    """How often a page of a take in which nothing was planted claims anything that goes one way."""
    plan = Planted(ioi_noise=0.06, touch_noise=7, hold_noise=0.08, lag_noise_s=0.012)
    print(f"\n{'nothing planted: pages that claim a direction':58} {'five said':>10} {'anywhere':>9}   ({seeds} seeds)")
    for label, music in NULL_PAGES:
        first = whole = 0
        for seed in range(seeds):
            one = reading(music, plan, seed)
            went = [f for f in one.findings if has_word(f"{f.name}.up") and f.value is not None and way(f) != "same"]
            chosen = told(one.findings)
            ids = {id(f) for f in (*chosen.asked, *chosen.place, *chosen.moved)}
            whole, first = whole + bool(went), first + any(id(f) in ids for f in went)
        print(f"{label:58} {100 * first / seeds:9.1f}% {100 * whole / seeds:8.1f}%")


def main(seeds: int = 2000) -> None:
    print(f"{'planted and held':58} {'planted':>9} {'median':>9} {'held':>7}   ({seeds} seeds)")
    for case in CASES:
        held, _, middle, _ = shares(case, seeds)
        truth = play(case.music, case.planted, 0).truth[case.key]
        print(f"{case.label:58} {truth:9.2f} {middle:9.2f} {100 * held:6.1f}%{' rank' if case.rank else ''}")
    print(f"\n{'nothing planted':58} {'leaves out zero':>17} {'claimed':>9}")
    for case in NULLS:
        _, leaves_out, _, claimed = shares(case, seeds)
        print(f"{case.label:58} {100 * leaves_out:16.1f}% {100 * claimed:8.1f}%")
    smallest_rise(seeds)
    by_number(seeds)
    parted(seeds)
    pages(seeds)
    alike(seeds // 2)
    pairs(seeds // 2)
    speed()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000)
