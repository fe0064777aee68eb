"""How far a following is right, against the truth the generator planted."""

from __future__ import annotations

import numpy as np

from keysense.following.following import Following
from tests.bench.playing import Playing


def f1(playing: Playing, following: Following) -> tuple[float, float]:
    """F1 over pairs of right pitch in every pass, and over all pairs, other pitches too.

    Two notes written together on one key (two hands, or two hands an octave apart brought onto it) count as one: which
    press was whose is anybody's guess.
    """
    one_of = _unisons(playing)
    meant = one_of[playing.presses["meant"]]
    right = (meant >= 0) & (playing.presses["pitch"] == playing.written_pitch())
    got = np.full(len(meant), -1)
    got[following.pairs["played"]] = one_of[following.pairs["target"]]
    match = np.zeros(len(meant), bool)
    match[following.pairs["played"]] = following.pairs["kind"] == "match"
    return _f1(meant, right, got, match), _f1(meant, meant >= 0, got, got >= 0)


def _unisons(playing: Playing) -> np.ndarray:
    """For each target row the first row that sounds the same key at the same time; -1 stays -1 (the last entry)."""
    notes = playing.target.notes
    key = notes["pitch"].astype(int) + np.where(notes["hand"] == "L", playing.shift[1], playing.shift[0])
    first: dict[tuple[float, int], int] = {}
    rows = [
        first.setdefault(at, i) for i, at in enumerate(zip(notes["onset_quarter"].tolist(), key.tolist(), strict=True))
    ]
    return np.asarray([*rows, -1])


def _f1(meant: np.ndarray, true: np.ndarray, got: np.ndarray, said: np.ndarray) -> float:
    if not true.any() and not said.any():
        return 1.0
    good = float((true & said & (meant == got)).sum())
    return 2 * good / float(true.sum() + said.sum())
