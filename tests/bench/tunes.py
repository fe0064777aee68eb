"""Invented pieces for the bench and the tests: a melody and a left hand, seeded; written-out repeats on request."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from keysense.targets.target import Target

_SCALE = np.array([0, 2, 4, 5, 7, 9, 11])
_RHYTHMS = ([1, 1, 1, 1], [1, 1, 2], [2, 1, 1], [0.5, 0.5, 1, 2], [1.5, 0.5, 1, 1], [0.5] * 8, [2, 2], [1, 0.5, 0.5, 2])
_LEFT = ("whole", "broken", "waltzed", "octave", "echo")


def piece(seed: int, *, bars: int = 16, form: str = "A", hands: int = 2) -> Target:
    """A piece of ``form``: each letter a section of ``bars`` bars, the same letter the same music, ' a changed end."""
    rng = np.random.default_rng(seed)
    base = 60 + int(rng.integers(0, 8))
    sections: dict[str, list[tuple[float, float, int, str]]] = {}
    rows: list[tuple[float, float, int, str]] = []
    at = 0.0
    for letter in form.replace("'", ""):
        if letter not in sections:
            sections[letter] = _section(rng, base, bars, hands)
        rows += [(at + onset, length, pitch, hand) for onset, length, pitch, hand in sections[letter]]
        at += 4.0 * bars
    if form.endswith("'"):  # the last bar turns out otherwise
        rows = [r for r in rows if r[0] < at - 4.0] + [
            (at - 4.0 + i, 1.0, base + s, "R") for i, s in enumerate((4, 2, -1, 0))
        ]
    rows.sort(key=lambda r: (r[0], -r[2]))
    onset, length, pitch, hand = zip(*rows, strict=True)
    return Target.from_notes(
        onset_quarter=onset, duration_quarter=length, pitch=pitch, hand=hand,
        bars_quarter=np.arange(0.0, at, 4.0), tempo_qpm=100.0,
    )  # fmt: skip


def repeated(seed: int, *, bars: int = 8, hands: int = 2) -> Target:
    """A section to be played twice and one after it, unfolded as a page with repeat signs is."""
    target = piece(seed, bars=bars, form="AAB", hands=hands)
    notes, rows = target.notes.copy(), target.bars.copy()
    again = (notes["onset_quarter"] >= 4.0 * bars) & (notes["onset_quarter"] < 8.0 * bars)
    first = notes[: int(again.sum())]
    notes["id"][again], notes["bar"][again] = np.char.add(first["id"], "~2"), first["bar"]
    rows["number"][bars : 2 * bars] = rows["number"][:bars]
    return replace(target, notes=notes, bars=rows)


def _section(rng: np.random.Generator, base: int, bars: int, hands: int) -> list[tuple[float, float, int, str]]:
    rows = []
    degree = int(rng.integers(0, 8))
    kinds = [_RHYTHMS[i] for i in rng.integers(0, len(_RHYTHMS), 4)]
    left = _LEFT[int(rng.integers(0, len(_LEFT)))]
    for bar in range(bars):
        at = 4.0 * bar
        for length in kinds[bar % 4]:
            degree = int(np.clip(degree + rng.choice([-2, -1, -1, 0, 1, 1, 2, 4, -4]), -2, 12))
            rows.append((at, float(length), base + _pitch(degree), "R"))
            if rng.random() < 0.1:
                rows.append((at, float(length), base + _pitch(degree - 2), "R"))
            at += length
        if hands > 1:
            rows += _left(rng, left, base - 12, 4.0 * bar)
    return rows


def _left(rng: np.random.Generator, kind: str, base: int, at: float) -> list[tuple[float, float, int, str]]:
    root = int(rng.choice([0, 3, 4, 5]))
    chord = [base + _pitch(root - 4 + step) for step in (0, 2, 4)]
    if kind == "whole":
        return [(at, 4.0, pitch, "L") for pitch in chord]
    if kind == "broken":
        order = (0, 2, 1, 2, 0, 2, 1, 2)
        return [(at + 0.5 * i, 0.5, chord[k], "L") for i, k in enumerate(order)]
    if kind == "waltzed":
        return [(at, 1.0, chord[0], "L"), *[(at + beat, 1.0, pitch, "L") for beat in (1, 2) for pitch in chord[1:]]]
    if kind == "octave":
        return [(at + 2 * half, 2.0, chord[0] - 12 * half, "L") for half in (0, 1)]
    return [(at + beat, 1.0, int(rng.choice(chord)), "L") for beat in range(4)]


def _pitch(degree: int) -> int:
    return int(_SCALE[degree % 7]) + 12 * (degree // 7)
