"""Random and hostile takes and targets, seeded by kind: what no pianist plays and following must live through."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from keysense.notes import Take
from keysense.targets.target import Target
from tests.bench import disturb, tunes

__all__ = ["KINDS", "target"]

Rng = np.random.Generator


def target(rng: Rng) -> Target:
    """An invented piece, or, one time in three, something that is no piece."""
    way = int(rng.integers(0, 15))
    if way > 4:
        form = str(rng.choice(["A", "A", "AA", "AA'", "ABA"]))
        return tunes.piece(int(rng.integers(10**6)), bars=int(rng.integers(1, 7)), form=form, hands=1 + way % 2)
    notes = (0, 1, *rng.integers(2, 40, 3).tolist())[way]
    onset = np.zeros(notes) if way == 2 else rng.integers(-4, 60, notes) / rng.choice([1, 2, 3, 16])
    pitch = np.full(notes, 60) if way == 3 else rng.integers(0, 128, notes)
    hand = rng.choice(["R", "L", ""], notes).tolist()
    duration = rng.integers(0, 5, notes) / 2
    return Target.from_notes(onset_quarter=onset, duration_quarter=duration, pitch=pitch, hand=hand)


def _take(rng: Rng, onset: np.ndarray, pitch: np.ndarray) -> Take:
    length = rng.uniform(0.0, 1.0, len(onset))
    return Take.from_notes(
        onset_s=onset, release_s=onset + length, pitch=pitch, velocity=rng.integers(1, 128, len(onset))
    )


def _some(rng: Rng, piece: Target, most: int = 40) -> np.ndarray:
    """Pitches, half of them the piece's own in its order."""
    notes = int(rng.integers(2, most))
    if len(piece.notes) and rng.random() < 0.5:
        return np.resize(piece.notes["pitch"].astype(int), notes)
    return rng.integers(0, 128, notes)


def few(rng: Rng, piece: Target) -> Take:
    pitch = _some(rng, piece)[: int(rng.integers(0, 2))]
    return _take(rng, rng.uniform(0, 9, len(pitch)), pitch)


def one_pitch(rng: Rng, piece: Target) -> Take:
    pitch = np.full_like(_some(rng, piece), int(rng.integers(0, 128)))
    return _take(rng, np.cumsum(rng.exponential(0.2, len(pitch))), pitch)


def storm(rng: Rng, piece: Target) -> Take:
    """Ten thousand notes a second."""
    pitch = _some(rng, piece, 120)
    return _take(rng, np.arange(len(pitch)) * 1e-4, pitch)


def unsorted(rng: Rng, piece: Target) -> Take:
    pitch = _some(rng, piece)
    return _take(rng, rng.permutation(np.cumsum(rng.exponential(0.3, len(pitch)))), pitch)


def not_finite(rng: Rng, piece: Target) -> Take:
    """Refused: a time that is no number, or an endless one."""
    pitch = _some(rng, piece)
    onset = np.cumsum(rng.exponential(0.3, len(pitch)))
    onset[int(rng.integers(len(onset)))] = rng.choice([np.nan, np.inf, -np.inf])
    return _take(rng, onset, pitch)


def gaps(rng: Rng, piece: Target) -> Take:
    """Silences of up to half an hour, and before the clock began."""
    pitch = _some(rng, piece)
    return _take(rng, np.cumsum(10.0 ** rng.uniform(-3, 3.2, len(pitch))) - 500.0, pitch)


def unisons(rng: Rng, piece: Target) -> Take:
    """Every key two to four times at the same moment."""
    pitch = _some(rng, piece, 20)
    times = int(rng.integers(2, 5))
    return _take(rng, np.repeat(np.cumsum(rng.exponential(0.3, len(pitch))), times), np.repeat(pitch, times))


def all_at_once(rng: Rng, piece: Target) -> Take:
    pitch = _some(rng, piece)
    return _take(rng, np.full(len(pitch), 1.0), pitch)


def random_notes(rng: Rng, piece: Target) -> Take:
    pitch = rng.integers(0, 128, int(rng.integers(2, 60)))
    return _take(rng, np.cumsum(rng.exponential(0.3, len(pitch))), pitch)


def disturbed(rng: Rng, piece: Target) -> Take:
    """The piece played with up to four disturbances, cut off anywhere."""
    playing = disturb.plain(piece, rng, quarter_s=float(rng.uniform(0.2, 2.0)))
    for name in rng.choice(list(disturb.DISTURBANCES), int(rng.integers(0, 5))).tolist():
        playing = disturb.DISTURBANCES[name](playing, rng) if len(playing.presses) > 2 else playing
    playing.presses["pitch"] = np.clip(playing.presses["pitch"], 0, 127)
    return playing.sorted(playing.presses[: int(rng.integers(0, len(playing.presses) + 1))]).take


KINDS: dict[str, Callable[[Rng, Target], Take]] = {
    "none or one note": few,
    "one pitch": one_pitch,
    "10,000 notes a second": storm,
    "unsorted": unsorted,
    "not finite": not_finite,
    "huge gaps": gaps,
    "unisons": unisons,
    "all at once": all_at_once,
    "random notes": random_notes,
    "disturbed playing": disturbed,
}
