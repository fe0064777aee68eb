"""Following fed with random and hostile takes: none may crash, every answer must be true to its own contract.

``python tests/bench fuzz`` feeds 5,000, ``python tests/bench/bench_fuzz.py 100000 WORKERS`` as many as asked; the
figures do not depend on the number of workers. ``refused`` are takes that the notes themselves refuse (NotesError).
"""

from __future__ import annotations

import json
import sys
import time
import traceback
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np

sys.path.append(str(Path(__file__).resolve().parents[2]))

from keysense.errors import NotesError
from keysense.following import Following, LiveFollower, follow, recognise
from keysense.notes import Take
from keysense.targets.target import Target
from tests.bench import hostile

BATCH = 250
LIVE_EVERY = 25


def untrue(target: Target, take: Take, following: Following) -> str:
    """What the answer breaks of its contract, an empty string for nothing."""
    pairs = following.pairs
    note = pairs["target"]
    if pairs["played"].tolist() != list(range(len(take))):
        return "not one row a press"
    if ((note == -1) != (pairs["kind"] == "extra")).any() or (note >= len(target.notes)).any() or (note < -1).any():
        return "a pair without a note"
    if not ((pairs["confidence"] >= 0) & (pairs["confidence"] <= 1)).all() or not 0 <= following.confidence <= 1:
        return "a confidence that is none"
    if set(following.omitted.tolist()) & set(note.tolist()):
        return "a note both sounded and left out"
    seen: Counter[int] = Counter()
    for row, passing in zip(note.tolist(), pairs["passing"].tolist(), strict=True):
        if row >= 0 and passing != seen[row]:
            return "passings not counted up"
        seen[row] += row >= 0
    json.dumps(following.to_json(), allow_nan=False)
    return ""


def one(kind: str, seed: int) -> tuple[int, str, bool, float]:
    """Presses, what went wrong, whether it was called lost, CPU seconds of one take."""
    rng = np.random.default_rng([91, sorted(hostile.KINDS).index(kind), seed])
    target = hostile.target(rng)
    try:
        take = hostile.KINDS[kind](rng, target)
    except NotesError:
        return 0, "" if kind == "not finite" else "refused", False, 0.0
    if kind == "not finite":
        return len(take), "not refused", False, 0.0
    try:
        began = time.process_time()
        following = follow(target, take)
        took = time.process_time() - began
        wrong = untrue(target, take, following)
        if seed % LIVE_EVERY == 0 and not wrong:
            live = LiveFollower(target)
            for row in take.notes:
                live.hear(float(row["onset_s"]), int(row["pitch"]), int(row["velocity"]))
            wrong = untrue(target, take, live.finish(take))
            recognise(take, [target, hostile.target(rng)])
    except Exception:  # that is what is looked for: it is counted as crashed and printed, and the run goes on
        traceback.print_exc()
        return len(take), "crashed", False, 0.0
    return len(take), wrong, following.lost, took


def batch(job: tuple[str, int]) -> tuple[str, int, int, Counter[str], int, float, float]:
    kind, first = job
    np.seterr(all="raise", under="ignore")
    rows = [one(kind, seed) for seed in range(first, first + BATCH)]
    wrong = Counter(row[1] for row in rows if row[1])
    took = [row[3] for row in rows]
    return kind, len(rows), sum(r[0] for r in rows), wrong, sum(r[2] for r in rows), sum(took), max(took)


def main(takes: int = 5_000, workers: int = 1) -> None:
    each = -(-takes // len(hostile.KINDS) // BATCH) * BATCH
    jobs = [(kind, first) for kind in hostile.KINDS for first in range(0, each, BATCH)]
    total: dict[str, list[float]] = {}
    wrong: Counter[str] = Counter()
    with ProcessPoolExecutor(workers) as pool:
        for kind, n, presses, bad, lost, took, slowest in pool.map(batch, jobs):
            row = total.setdefault(kind, [0, 0, 0, 0, 0.0, 0.0])
            row[:5] = [a + b for a, b in zip(row, (n, presses, bad.total(), lost, took), strict=False)]
            row[5] = max(row[5], slowest)
            wrong += bad
    print(f"{'kind':22} {'takes':>7} {'presses':>9} {'failed':>7} {'lost':>6} {'ms/take':>8} {'slowest ms':>11}")
    for kind, (n, presses, bad, lost, took, slowest) in total.items():
        figures = f"{n:7.0f} {presses:9.0f} {bad:7.0f} {lost / n:6.3f} {1e3 * took / n:8.2f} {1e3 * slowest:11.1f}"
        print(f"{kind:22} {figures}")
    print(f"of {sum(row[0] for row in total.values()):.0f} takes {wrong.total()} failed {dict(wrong) or ''}")


if __name__ == "__main__":
    main(*(int(argument) for argument in sys.argv[1:]))
