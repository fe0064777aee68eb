"""Following while it is played: the same path, read forward, one key press at a time.

At once a press is given the place where the best path now ends; as later presses come the path before them settles.
A jump shows only once it has paid for itself, two or three notes after it was made, and a pause moves nothing, for the
path moves on key presses alone. Where it goes badly a shifted reading is looked for, now and then, in what was heard so
far. What is known when the playing is over is told by `LiveFollower.finish`, which follows the whole anew.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from keysense.errors import NotesError
from keysense.following import constants as c
from keysense.following.choose import usual_pace
from keysense.following.decode import Sweep
from keysense.following.follow import follow
from keysense.following.following import Following
from keysense.following.hypotheses import Hypothesis, hypotheses, unshifted
from keysense.following.lane import Lane
from keysense.notes import LONGEST_TAKE_S, Take, finite_column, midi_column
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

    hypothesis: what is known of the shift of the hands. Without it the plain reading and each hand alone are tried, and
    shifted ones after `LIVE_LOOKS` presses if none of these goes well.
    """

    def __init__(self, target: Target, hypothesis: Hypothesis | None = None) -> None:
        self.target = target
        self._heard: list[tuple[float, int, int]] = []
        readings = unshifted(target) if hypothesis is None else [hypothesis]
        self._first = [self._sweep(h) for h in readings if len(h.pitch)]
        self._later: list[Sweep] = []
        self._looks = c.LIVE_LOOKS if hypothesis is None else ()

    def hear(self, onset_s: float, pitch: int, velocity: int = 64) -> Position:
        """Take one key press in and say where that is.

        Raises NotesError, and keeps nothing of the press, on a time, key or velocity that a take may not have, and on a
        time before that of the press before: rows count presses in the order of time.
        """
        heard = self._checked(onset_s, pitch, velocity)
        played = len(self._heard)
        self._heard.append(heard)
        for sweep in (*self._first, *self._later):
            sweep.hear(played, *heard[:2])
        if played + 1 in self._looks:
            self._look_for_shifts()
        best = self._best()
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

    def _checked(self, onset_s: float, pitch: int, velocity: int) -> tuple[float, int, int]:
        time_s = float(finite_column("onset_s", onset_s)[0])
        key, force = (int(midi_column(name, value)[0]) for name, value in (("pitch", pitch), ("velocity", velocity)))
        if self._heard and time_s < self._heard[-1][0]:
            raise NotesError(
                f"a press at {time_s:g} s comes after one at {self._heard[-1][0]:g} s: "
                "give presses in the order of time, in seconds from the first"
            )
        if self._heard and time_s - self._heard[0][0] > LONGEST_TAKE_S:
            raise NotesError(f"a press at {time_s:g} s is more than a day after the first: are these milliseconds?")
        return time_s, key, force

    def _sweep(self, hypothesis: Hypothesis) -> Sweep:
        """One reading, with all that was heard so far."""
        sweep = Sweep(Lane(hypothesis), usual_pace(self.target, None))
        for played, (onset_s, pitch, _) in enumerate(self._heard):
            sweep.hear(played, onset_s, pitch)
        return sweep

    def _best(self) -> Sweep | None:
        """The likeliest reading; one that was thought of later must win clearly, and soon is the only one."""
        first, later = (max(sweeps, key=_value, default=None) for sweeps in (self._first, self._later))
        if later is None or (first is not None and later.best < first.best + c.HYPOTHESIS_MARGIN):
            least = -math.inf if first is None else first.best - c.HOPELESS
            self._first[1:] = [sweep for sweep in self._first[1:] if sweep.best > least]  # the hands may yet meet again
            return first
        self._first = [sweep for sweep in self._first if sweep.best > later.best - c.HOPELESS]
        self._later = [sweep for sweep in self._later if sweep.best > later.best - c.HOPELESS]
        return later

    def _look_for_shifts(self) -> None:
        """Where nothing goes well, try the shifts that what was heard speaks for; give up those that did not help."""
        most = max((sweep.best for sweep in (*self._first, *self._later)), default=0.0)
        self._later = [sweep for sweep in self._later if sweep.best > most - c.BEAM]
        if most < c.LIVE_GOES_WELL * c.RIGHT * len(self._heard):
            pitch = np.asarray([pitch for _, pitch, _ in self._heard])
            known = {sweep.lane.hypothesis.moves for sweep in (*self._first, *self._later)}
            tried = [h for h in hypotheses(self.target, pitch) if len(h.pitch) and h.moves not in known]
            self._later += [self._sweep(h) for h in tried]

    def take(self) -> Take:
        """What was heard so far, with releases guessed."""
        onset, pitch, velocity = np.array(self._heard, float).reshape(-1, 3).T
        return Take.from_notes(
            onset_s=onset, release_s=onset + _HELD_S, pitch=pitch.astype(int), velocity=velocity.astype(int)
        )

    def finish(self, take: Take | None = None) -> Following:
        """Follow the whole: the take with its true releases if it is at hand, else what was heard."""
        return follow(self.target, self.take() if take is None else take)


def _value(sweep: Sweep) -> float:
    return sweep.best
