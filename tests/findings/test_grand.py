"""A large performance (grace notes, chords, three voices, pedal, wrong and missing keys), every figure worked out a
second time.

What is compared is worked out here note by note from the bare columns of the key presses, with nothing of keysense.
"""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from keysense.findings import Reading, look
from keysense.following.following import PAIR, Following
from keysense.notes import PEDAL, Take
from keysense.targets.target import Mark, Target

BARS = 60
RHYTHMS = ([1, 1, 1, 1], [1.5, 0.5, 1, 1], [0.5] * 8, [0.75, 0.25, 0.75, 0.25, 1, 1])


@cache
def target() -> Target:
    rng, rows, marks, tune = np.random.default_rng(8), set(), [], 72
    for bar in range(BARS):
        at, lengths = 4.0 * bar, RHYTHMS[bar % 4]
        for length in lengths:
            tune = int(np.clip(tune + rng.choice([-4, -3, -2, 2, 3, 4]), 64, 88))
            rows |= {(at, length, tune, "R", False)}
            rows |= {(at, length, tune - int(d), "R", False) for d in (4, 7) if rng.random() < 0.2}
            rows |= {(at, 0.0, tune + 1, "R", True)} if rng.random() < 0.06 else set()
            at += length
        root = int(rng.choice([36, 41, 43]))
        rows |= {(4.0 * bar, 4.0, root, "L", False)}
        rows |= {(4.0 * bar + k, 1.0, root + up, "L", False) for k in (1, 2, 3) for up in (12, 16, 19)}
        marks += [Mark("slur", 4.0 * bar, 4.0 * bar + 3, f"s{bar}", "R")] if bar % 2 == 0 else []
        marks += [Mark("staccato", 4.0 * bar + 1, 4.0 * bar + 4, f"t{bar}", "L")] if bar % 4 == 1 else []
    onset, length, pitch, hand, grace = zip(*sorted(rows), strict=True)
    return Target.from_notes(
        onset_quarter=onset, duration_quarter=length, pitch=pitch, hand=list(hand), is_grace=list(grace),
        bars_quarter=[4.0 * bar for bar in range(BARS)], marks=marks,
    )  # fmt: skip


@cache
def performed() -> tuple[Take, Following]:
    rng, notes = np.random.default_rng(9), target().notes
    quarters = np.unique(notes["onset_quarter"])
    period = 0.5 * np.exp(0.15 * np.sin(quarters / 2.5) + rng.normal(0, 0.03, len(quarters)))
    at = np.concatenate([[1.0], 1 + np.cumsum(np.diff(quarters) * period[:-1])])
    right = notes["hand"] == "R"
    onset = at[np.searchsorted(quarters, notes["onset_quarter"])] + rng.normal(0, 0.012, len(notes)) + 0.01 * ~right
    onset -= 0.07 * notes["is_grace"]
    held = np.where(right, 0.5 * notes["duration_quarter"] + 0.03, 0.2) + rng.normal(0, 0.03, len(notes))
    velocity = np.clip(np.where(right, 76, 55) + rng.normal(0, 8, len(notes)), 1, 127).round().astype(int)
    pitch = notes["pitch"].astype(int) + (rng.random(len(notes)) < 0.01)
    kept = np.flatnonzero(rng.random(len(notes)) > 0.01)
    order = kept[np.argsort(onset[kept], kind="stable")]
    moves = [(a + late + rng.normal(0, 0.02), 64, value) for a in at[::6] for late, value in ((-0.02, 0), (0.15, 90))]
    take = Take.from_notes(onset_s=onset[order], release_s=(onset + np.maximum(held, 0.03))[order], pitch=pitch[order],
                           velocity=velocity[order], pedals=np.array(sorted(moves), PEDAL))  # fmt: skip
    kinds = np.where(pitch[order] == notes["pitch"][order], "match", "substitution")
    pairs = [(k, row, 0, kind, 1.0) for k, (row, kind) in enumerate(zip(order.tolist(), kinds.tolist(), strict=True))]
    left_out = np.setdiff1d(np.arange(len(notes)), order).astype(np.int32)
    return take, Following(np.array(pairs, PAIR), left_out, [], {}, None, 1.0, False)


@cache
def reading() -> Reading:
    take, following = performed()
    return look(take, target(), following=following)


@cache
def by_quarter() -> dict[float, list[dict[str, float]]]:
    """The sounded notes of each written onset, grace notes aside: what is written and how it was struck."""
    take, following = performed()
    found: dict[float, list[dict[str, float]]] = {}
    for pair in following.pairs:
        written, played = target().notes[pair["target"]], take.notes[pair["played"]]
        if not written["is_grace"]:
            note = {name: float(played[name]) for name in ("onset_s", "release_s", "velocity", "pitch")}
            note |= {"written": float(written["pitch"]), "right": float(written["hand"] == "R")}
            found.setdefault(float(written["onset_quarter"]), []).append(note)
    return dict(sorted(found.items()))


def of_hand(right: bool) -> dict[float, list[dict[str, float]]]:
    hands = {quarter: [n for n in notes if bool(n["right"]) is right] for quarter, notes in by_quarter().items()}
    return {quarter: notes for quarter, notes in hands.items() if notes}


def top(notes: list[dict[str, float]]) -> dict[str, float]:
    return max(notes, key=lambda note: note["written"])


def first(notes: list[dict[str, float]]) -> float:
    return min(note["onset_s"] for note in notes)


def test_it_is_as_large_as_it_says() -> None:
    assert len(performed()[0]) > 900
    assert np.any(target().notes["is_grace"]) and len(performed()[0].pedals) > 50


def mean_onset(notes: list[dict]) -> float:
    return float(np.mean([n["onset_s"] for n in notes]))


def test_chords_hands_and_melody() -> None:
    chords = [notes for notes in by_quarter().values() if len(notes) > 1]
    spread = [1000 * (max(n["onset_s"] for n in notes) - first(notes)) for notes in chords]
    assert reading().one("chord_spread").value == pytest.approx(np.median(spread))
    right, left = of_hand(True), of_hand(False)
    lag = [1000 * (mean_onset(left[q]) - mean_onset(right[q])) for q in right if q in left]
    assert reading().one("hands_lag").value == pytest.approx(np.median(lag))
    sung = [top(notes) for notes in right.values()]
    leads, louder = [], []
    for notes in chords:
        tune = [note for note in notes if any(note is other for other in sung)]
        if tune:
            others = [note for note in notes if note is not tune[0]]
            leads.append(1000 * (np.mean([n["onset_s"] for n in others]) - tune[0]["onset_s"]))
            louder.append(tune[0]["velocity"] - np.mean([n["velocity"] for n in others]))
    assert reading().one("melody_lead").value == pytest.approx(np.median(leads))
    assert reading().one("melody_lead_loudness").value == pytest.approx(np.median(louder))
    rest = [n["velocity"] for notes in by_quarter().values() for n in notes if not any(n is other for other in sung)]
    assert reading().one("voicing").value == pytest.approx(np.mean([n["velocity"] for n in sung]) - np.mean(rest))


@pytest.mark.parametrize("hand", ["R", "L"])
def test_velocity_of_each_hand(hand: str) -> None:
    velocity = [note["velocity"] for notes in of_hand(hand == "R").values() for note in notes]
    assert reading().one("loudness", hand).value == pytest.approx(np.mean(velocity))


def test_spread_of_the_quarter_period() -> None:
    notes = target().notes
    written = sorted({float(q) for q in notes["onset_quarter"][~notes["is_grace"]]})
    heard = {quarter: first(struck) for quarter, struck in by_quarter().items()}
    period = np.array([(heard[b] - heard[a]) / (b - a) for a, b in pairwise(written) if a in heard and b in heard])
    robust = 148.26 * np.median(np.abs(period - np.median(period))) / np.median(period)
    assert reading().one("period_spread").value == pytest.approx(robust)


def steps(right: bool, low: float, high: float) -> list[tuple[dict[str, float], dict[str, float]]]:
    """From each onset of a hand to its next, both heard: the two upper notes."""
    notes, struck = target().notes, of_hand(right)
    hand = (notes["hand"] == "R") == right
    written = sorted({float(q) for q in notes["onset_quarter"][hand & ~notes["is_grace"]]})
    return [(top(struck[a]), top(struck[b])) for a, b in pairwise(written)
            if low <= a and b <= high and a in struck and b in struck]  # fmt: skip


def test_keys_overlap_under_slurs_by_the_keys_alone() -> None:
    gaps = [1000 * (a["release_s"] - b["onset_s"]) for bar in range(0, BARS, 2)
            for a, b in steps(True, 4 * bar, 4 * bar + 3) if a["pitch"] != b["pitch"]]  # fmt: skip
    assert reading().one("key_overlap", "R").n == len(gaps)
    assert reading().one("key_overlap", "R").value == pytest.approx(np.median(gaps))


def test_dotted_notes_are_held_by_the_key_and_never_by_the_pedal() -> None:
    told = 0
    for bar in range(1, BARS - 1, 4):
        held = [(a["release_s"] - a["onset_s"]) / (b["onset_s"] - a["onset_s"])
                for a, b in steps(False, 4 * bar + 1, 4 * bar + 4)]  # fmt: skip
        found = reading().one("hold_ratio", "L", f"t{bar}")
        if found.n >= 3:
            told += 1
            assert found.value == pytest.approx(np.median(held))
    assert told > 8


def test_the_pedal_against_the_nearest_key() -> None:
    take = performed()[0]
    onset, down = take.notes["onset_s"], take.pedals["value"] >= 64
    for name, way in (("pedal_press", down), ("pedal_release", ~down)):
        moved = take.pedals["time_s"][way & (np.arange(len(down)) > 0)]  # the first is up already
        after = [1000 * (t - onset[np.argmin(np.abs(onset - t))]) for t in moved]
        assert reading().one(name).value == pytest.approx(np.median(after))
