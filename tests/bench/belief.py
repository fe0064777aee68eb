"""Planted takes of every kind, and how far `follow` believed each: for the bench's tables and for a test in small.

The seeds are others than those the constants were fitted on.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from keysense.following import Following, follow
from keysense.notes import Take
from keysense.targets.target import Target
from tests.bench import disturb, tunes

__all__ = ["Told", "elsewhere", "pieces", "planted"]

RIGHT_F1 = 0.98
BINS = (0.0, 0.2, 0.5, 0.8, 0.9, 1.01)
Rng = np.random.Generator
Ways = dict[str, Callable[[disturb.Playing, Rng], disturb.Playing]]


@dataclass(frozen=True)
class Told:
    """One take: what was done to it, how sure the following was, whether it was lost, and its match F1."""

    name: str
    sure: float
    lost: bool
    f1: float


def pieces(n: int, first: int = 60_000) -> Iterator[disturb.Playing]:
    """Invented pieces of one to sixteen bars, one hand or two, played plainly."""
    for seed in range(first, first + n):
        rng = np.random.default_rng(seed)
        piece = tunes.piece(seed, bars=int(rng.integers(1, 17)), hands=1 + seed % 2)
        yield disturb.plain(piece, rng, quarter_s=float(rng.uniform(0.4, 1.0)))


def ways() -> Ways:
    """Every single disturbance, and mixed ones in four hardnesses."""
    hard: Ways = {f"mixed {h}": lambda p, rng, h=h: disturb.mixed(p, rng, h) for h in (1, 2, 3, 4)}  # type: ignore[misc]
    return {**disturb.DISTURBANCES, **hard}


def planted(bases: Iterator[disturb.Playing]) -> Iterator[Told]:
    """Each base in every way, whole; every third also cut to its first 6 to 24 presses."""
    for k, base in enumerate(bases):
        for w, (name, way) in enumerate(ways().items()):
            rng = np.random.default_rng([k, w, 31])
            playing = way(base, rng)
            if (k + w) % 3 == 0:
                playing = playing.sorted(playing.presses[: int(rng.integers(6, 25))])
            following = follow(playing.target, playing.take)
            yield _told(name, following, disturb.f1(playing, following)[0])


def elsewhere(n: int, first: int = 70_000) -> Iterator[Told]:
    """Takes of something else: random keys, a random walk, another piece; what is right is to pair nothing."""
    for seed in range(first, first + n):
        rng = np.random.default_rng(seed)
        target = tunes.piece(seed, bars=int(rng.integers(2, 17)), hands=1 + seed % 2)
        name, take = ("random keys", "a random walk", "another piece")[seed % 3], _other(seed, rng)
        yield _told(name, follow(target, take), 0.0)


def _told(name: str, following: Following, f1: float) -> Told:
    return Told(name, following.confidence, following.lost, f1)


def _other(seed: int, rng: Rng) -> Take:
    notes = int(rng.integers(8, 150))
    if seed % 3 == 2:
        return _another(seed, rng, notes)
    pitch = rng.integers(40, 86, notes)
    if seed % 3 == 1:
        pitch = np.clip(62 + np.cumsum(rng.choice([-2, -1, 1, 2], notes)), 40, 86)
    onset = np.cumsum(rng.exponential(0.3, notes))
    return Take.from_notes(onset_s=onset, release_s=onset + 0.3, pitch=pitch, velocity=np.full(notes, 64))


def _another(seed: int, rng: Rng, notes: int) -> Take:
    other: Target = tunes.piece(seed + 500_000, bars=int(rng.integers(2, 17)), hands=1 + seed % 2)
    playing = disturb.plain(other, rng)
    return playing.sorted(playing.presses[:notes]).take
