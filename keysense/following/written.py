"""The target as following asks for it: its columns side by side, its parts, and the onsets of those that sound.

It is laid out at the first following and kept with the target, which in a lesson is followed again and again.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.onsets import Onsets, Page
from keysense.following.values import median
from keysense.targets.columns import HANDS
from keysense.targets.target import Target

__all__ = ["FURTHEST", "KEYS", "Written", "written"]

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]

KEYS = 128
FURTHEST = 24  # semitones that a part may sound from where it is written
_KEPT_AS = "_written"


class Written:
    """The notes of a target, in one or two parts; see `written`.

    quarter, pitch, bar, left: a value a row: onset in quarters, pitch, bar, whether the left hand has it.
    part: a value a row; told: whether the target tells the hands apart, which are then its parts. Of one that does not
    all notes below the middle pitch are the second part: a melody may be shared out.
    names: the hand that each part is reported as, the same for both where they are not told apart.
    counts: of each part, the notes on each key from ``-FURTHEST`` to ``KEYS + FURTHEST``.
    """

    def __init__(self, target: Target) -> None:
        notes = target.notes
        self.quarter, self.pitch = notes["onset_quarter"].copy(), notes["pitch"].astype(np.int64)
        self.bar, hand = notes["bar"].astype(np.int64), notes["hand"].copy()
        of_hand = {name: hand == name for name in HANDS}
        self.left = of_hand["L"]
        self.names = tuple(name for name in HANDS if np.count_nonzero(of_hand[name])) or ("",)
        self.told = len(self.names) > 1
        self.part: Ints = np.zeros(len(notes), np.int64)
        if self.told:
            for number, name in enumerate(self.names[1:], 1):
                self.part[of_hand[name]] = number
        elif len(notes) >= c.SPLIT_FROM_NOTES and self.pitch.min() != self.pitch.max():
            self.names *= 2
            self.part[self.pitch < median(self.pitch)] = 1
        n, wide = len(self.names), KEYS + 2 * FURTHEST
        places = self.pitch + (FURTHEST + wide * self.part)
        self.counts: Floats = np.bincount(places, minlength=n * wide).reshape(n, wide).astype(float)
        self._page = Page(self.quarter.round(6), notes["id"], target.bars)
        self._onsets: dict[tuple[bool, ...], Onsets] = {}

    def onsets(self, sounds: tuple[bool, ...]) -> Onsets:
        """Those of the parts that sound."""
        found = self._onsets.get(sounds)
        if found is None:
            rows = np.arange(len(self.part)) if all(sounds) else np.array(sounds)[self.part].nonzero()[0]
            found = self._onsets[sounds] = Onsets(self._page, rows)
        return found

    @property
    def hands(self) -> tuple[str, ...]:
        """The hands that the target tells apart; empty where it tells none."""
        return tuple(hand for hand in dict.fromkeys(self.names) if hand)

    def all_onsets(self) -> Onsets:
        """Those of the whole."""
        return self.onsets((True,) * len(self.names))


def written(target: Target) -> Written:
    """A target laid out: once, since a target never changes."""
    kept = vars(target)
    found: Written | None = kept.get(_KEPT_AS)
    if found is None:
        found = kept[_KEPT_AS] = Written(target)
    return found
