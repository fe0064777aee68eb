"""Following while it is played: the same path, read forward, one key press at a time.

At once a press is given the place where the best path now ends; as later presses come the path before them settles.
A jump shows only once it has paid for itself, two or three notes after it was made, and a pause moves nothing, for the
path moves on key presses alone. What is known when the playing is over is told by `LiveFollower.finish`, which follows
the whole anew.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from keysense.errors import NotesError
from keysense.following.choose import usual_pace
from keysense.following.decode import Sweep
from keysense.following.follow import follow
from keysense.following.following import Following
from keysense.following.hypotheses import Hypothesis, unshifted
from keysense.following.lane import Lane
from keysense.notes import Take
from keysense.targets.target import Target

__all__ = ["LiveFollower", "Position"]

SETTLED = 5
_HELD_S = 0.3  # a key whose release is not known yet


@dataclass(frozen=True)
class Position:
    """Where the player is.

    played: the row of this press. target: the row of the note it was taken for, -1 for an extra. quarter, bar: the
    last place heard, None before any. settled: (row of the press `SETTLED` presses ago, the note it is now taken for),
    None while there are fewer.
    """

    played: int
    target: int
    quarter: float | None
    bar: int | None
    settled: tuple[int, int] | None


class LiveFollower:
    """Follows one take while it is played.

    hypothesis: what is known of the shift of the hands; the plain reading and each hand alone are tried without it.
    """

    def __init__(self, target: Target, hypothesis: Hypothesis | None = None) -> None:
        self.target = target
        self._heard: list[tuple[float, int, int]] = []
        readings = unshifted(target) if hypothesis is None else [hypothesis]
        pace = usual_pace(target, None)
        self._sweeps = [Sweep(Lane(target, h), pace) for h in readings if len(h.rows)]

    def hear(self, onset_s: float, pitch: int, velocity: int = 64) -> Position:
        """Take one key press in and say where that is. Raises NotesError on a time or pitch that cannot be."""
        if not math.isfinite(onset_s) or not 0 <= pitch <= 127:
            raise NotesError(f"a press at {onset_s} s on key {pitch} cannot be: give seconds, and keys from 0 to 127")
        played = len(self._heard)
        self._heard.append((float(onset_s), int(pitch), int(velocity)))
        for sweep in self._sweeps:
            sweep.hear(played, float(onset_s), int(pitch))
        best = max(self._sweeps, key=lambda sweep: sweep.best, default=None)
        tail = [] if best is None else best.tail(SETTLED + 1)
        if not tail:
            return Position(played, -1, None, None, None)
        newest, note = tail[0]
        place = self.target.notes[note]
        earlier = played - SETTLED
        settled = None if earlier < 0 else (earlier, dict(tail).get(earlier, -1))
        return Position(
            played, note if newest == played else -1, float(place["onset_quarter"]), int(place["bar"]), settled
        )

    def take(self) -> Take:
        """What was heard so far, with releases guessed."""
        onset, pitch, velocity = np.array(self._heard, float).reshape(-1, 3).T
        return Take.from_notes(
            onset_s=onset, release_s=onset + _HELD_S, pitch=pitch.astype(int), velocity=velocity.astype(int)
        )

    def finish(self, take: Take | None = None) -> Following:
        """Follow the whole: the take with its true releases if it is at hand, else what was heard."""
        return follow(self.target, self.take() if take is None else take)
