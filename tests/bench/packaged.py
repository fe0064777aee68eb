"""A professional take that a registry package ships, cut into excerpts: a base for the disturbances, played by a human.

Source: parangonar 3.4.0, ``assets/mozart_k265_var1.match``, read through partitura; its own alignment is the truth.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from keysense.targets.target import Target
from tests.bench.playing import PRESS, Playing
from tests.findings.test_professional import shipped

__all__ = ["excerpts"]

SPANS = ((0, 6), (4, 10), (8, 14), (0, 8), (4, 12), (8, 16), (0, 12), (0, 16), (0, 99))  # bars


def excerpts(spans: tuple[tuple[int, int], ...] = SPANS) -> list[Playing]:
    """The take's bars from the first to the one before the last of each span, as playings with their truth."""
    return [_excerpt(*span) for span in spans]


def _excerpt(first: int, end: int) -> Playing:
    whole = shipped()
    target, notes = whole.target, whole.take.notes
    starts = target.bars["start_quarter"]
    low = starts[first]
    high = starts[end] if end < len(starts) else np.inf
    kept = (target.notes["onset_quarter"] >= low - 1e-9) & (target.notes["onset_quarter"] < high - 1e-9)
    row_of = np.where(kept, np.cumsum(kept) - 1, -1)
    meant = np.full(len(notes), -1)
    pairs = whole.following.pairs
    meant[pairs["played"]] = np.where(pairs["target"] >= 0, row_of[pairs["target"]], -1)
    begun, ended = np.flatnonzero(meant >= 0)[[0, -1]]
    presses = np.zeros(ended + 1 - begun, PRESS)
    for name in ("onset_s", "release_s", "pitch", "velocity"):
        presses[name] = notes[name][begun : ended + 1]
    presses["meant"] = meant[begun : ended + 1]
    presses["onset_s"] -= presses["onset_s"].min() - 0.5
    presses["release_s"] -= notes["onset_s"][begun] - 0.5
    return Playing(_part(target, kept, low, high), presses)


def _part(target: Target, kept: np.ndarray, low: float, high: float) -> Target:
    rows = target.notes[kept]
    starts = target.bars["start_quarter"]
    return replace(
        Target.from_notes(
            onset_quarter=rows["onset_quarter"] - low, duration_quarter=rows["duration_quarter"], pitch=rows["pitch"],
            hand=rows["hand"].tolist(), bars_quarter=starts[(starts >= low - 1e-9) & (starts < high - 1e-9)] - low,
        ),
        source=target.source,
    )  # fmt: skip
