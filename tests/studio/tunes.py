"""A tune of twenty-six notes, and somebody who plays it."""

from __future__ import annotations

import numpy as np

from keysense.notes import Take
from keysense.targets.target import Source, Target

TUNE = [60, 64, 67, 64, 65, 62, 67, 64, 67, 65, 62, 64, 60, 62, 60, 62, 64, 65, 67, 64, 67, 65, 64, 62, 64, 60]


def tune(version: int = 0) -> Target:
    n = len(TUNE) - version
    return Target.from_notes(
        onset_quarter=np.arange(n), duration_quarter=np.ones(n), pitch=TUNE[:n], hand=["R"] * n,
        tempo_qpm=120.0, source=Source("notes", "The Miller's Cat"),
    )  # fmt: skip


def played(period_s: float = 0.5, velocity: int = 60, gate: float = 0.8, seed: int = 1) -> Take:
    noise = np.random.default_rng(seed)
    onset = np.arange(len(TUNE)) * period_s + noise.normal(0, 0.02 * period_s, len(TUNE))
    onset -= onset.min()
    return Take.from_notes(
        onset_s=onset, release_s=onset + gate * period_s, pitch=TUNE,
        velocity=np.clip(noise.normal(velocity, 4, len(TUNE)), 1, 127).round(),
    )  # fmt: skip
