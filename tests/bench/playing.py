"""A playing: a target, the key presses, and for each press the row of the target it was meant for (-1: none)."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from keysense.notes import Take
from keysense.targets.target import Target

__all__ = ["PRESS", "Playing", "plain"]

PRESS = np.dtype([("onset_s", "f8"), ("release_s", "f8"), ("pitch", "i4"), ("velocity", "i4"), ("meant", "i4")])
Rng = np.random.Generator


@dataclass(frozen=True)
class Playing:
    target: Target
    presses: np.ndarray
    shift: tuple[int, int] = (0, 0)  # semitones of right and left hand

    @property
    def take(self) -> Take:
        p = self.presses
        return Take.from_notes(onset_s=p["onset_s"], release_s=p["release_s"], pitch=p["pitch"], velocity=p["velocity"])

    def sorted(self, presses: np.ndarray) -> Playing:
        return replace(self, presses=presses[np.argsort(presses["onset_s"], kind="stable")])

    def moved(self) -> Playing:
        """Every press moved by its hand's shift."""
        left = (self.target.notes["hand"] == "L")[np.maximum(self.presses["meant"], 0)]
        self.presses["pitch"] = np.clip(self.presses["pitch"] + np.where(left, self.shift[1], self.shift[0]), 0, 127)
        return self

    def written_pitch(self) -> np.ndarray:
        """The pitch each press should have, as shifted; -1 for extras."""
        meant = self.presses["meant"]
        notes = self.target.notes
        by = np.where(notes["hand"] == "L", self.shift[1], self.shift[0])
        return np.where(meant >= 0, notes["pitch"][np.maximum(meant, 0)].astype(int) + by[np.maximum(meant, 0)], -1)


def plain(
    target: Target, rng: Rng, *, quarter_s: float = 0.6, noise_s: float = 0.012, noise_log: float = 0.06
) -> Playing:
    """The target played as written, with a wandering tempo and noise on every press."""
    notes = target.notes
    onsets, of = np.unique(notes["onset_quarter"], return_inverse=True)
    gaps = np.diff(onsets, prepend=onsets[:1] if len(onsets) else 0.0)
    wander = np.cumsum(rng.normal(0, noise_log / 3, len(onsets))) * 0.5
    wander -= np.linspace(0, 1, len(onsets)) * wander[-1:] if len(onsets) else 0
    at = 0.5 + np.cumsum(gaps * quarter_s * np.exp(wander + rng.normal(0, noise_log, len(onsets))))
    p = np.zeros(len(notes), PRESS)
    p["onset_s"] = at[of] + rng.normal(0, noise_s, len(notes))
    p["release_s"] = p["onset_s"] + np.maximum(notes["duration_quarter"], 0.1) * quarter_s * rng.uniform(
        0.7, 1.0, len(notes)
    )
    p["pitch"] = notes["pitch"]
    p["velocity"] = np.clip(rng.normal(64, 8, len(notes)), 20, 110)
    p["meant"] = np.arange(len(notes))
    return Playing(target, np.zeros(0, PRESS)).sorted(p)
