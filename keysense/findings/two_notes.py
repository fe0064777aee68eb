"""Two notes with one touch, thumb and little finger: do both speak together and alike?

Conventions
    A trial is two notes written on one onset in one hand, marked for thumb and little finger or, unfingered, six
    semitones apart or more. The finger used is not known, only the keys. Positive: the little finger's side (the upper
    note of the right hand, the lower of the left, the upper where no hand is told) is later, louder, longer down.

Findings
    two_note_touch_gap (ms), two_note_touch_loudness (velocity), two_note_touch_release (ms): median over the trials,
        signed-rank interval; one row a hand; missing below three trials.

References
    The limit is common practice, no source: the teacher sets it from her own playing.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding
from keysense.findings.heard import Heard
from keysense.findings.loudness import ONE_VELOCITY, one_velocity
from keysense.findings.rows import median_row, onset_groups, place_of

__all__ = ["two_note_touch"]

Ints = npt.NDArray[np.int64]
_WIDE = 6  # semitones
_THUMB, _LITTLE = 1, 5


def two_note_touch(heard: Heard) -> list[Finding]:
    """Gap, loudness and release of the two notes, one row each a hand that has such touches on the page."""
    return [row for hand in heard.hands if _written(heard, hand) for row in _of_hand(heard, hand)]


def _written(heard: Heard, hand: str) -> bool:
    notes = heard.target.notes[(heard.target.notes["hand"] == hand) & ~heard.target.notes["is_grace"]]
    _, of, size = np.unique(np.round(notes["onset_quarter"], 6), return_inverse=True, return_counts=True)
    pairs = np.flatnonzero(size[of] == 2)
    two = pairs[np.argsort(of[pairs], kind="stable")].reshape(-1, 2)
    return any(_is_pair(notes[pair]) for pair in two)


def _is_pair(notes: npt.NDArray[np.void]) -> bool:
    if len(notes) != 2:
        return False
    fingers = set(notes["finger"].tolist())
    return fingers == {_THUMB, _LITTLE} or (fingers == {0} and int(np.ptp(notes["pitch"].astype(int))) >= _WIDE)


def _of_hand(heard: Heard, hand: str) -> list[Finding]:
    rows, asked = heard.rows, heard.target.notes
    pairs = _pairs(heard, hand)
    pitch = asked["pitch"][rows["target"]].astype(int)
    outer, inner = (_side(pitch, pairs, upper) for upper in ((hand != "L"), (hand == "L")))
    place = place_of(heard, rows[np.concatenate([outer, inner])], hand)

    def row(name: str, unit: str, difference: npt.NDArray[np.float64]) -> Finding:
        return median_row(heard, name, unit, difference, place, what="such touches")  # type: ignore[arg-type]

    gap = row("two_note_touch_gap", "ms", 1000 * (rows["onset_s"][outer] - rows["onset_s"][inner]))
    loudness = row("two_note_touch_loudness", "velocity", rows["velocity"][outer] - rows["velocity"][inner])
    if one_velocity(heard):
        loudness = Finding.missing(loudness.name, "velocity", ONE_VELOCITY, n=loudness.n, place=place)
    release = row("two_note_touch_release", "ms", 1000 * (rows["release_s"][outer] - rows["release_s"][inner]))
    return [gap, loudness, release]


def _pairs(heard: Heard, hand: str) -> list[Ints]:
    groups, asked = onset_groups(heard, hand), heard.target.notes[heard.rows["target"]]
    return [group for group in groups.where(groups.counts == 2).each() if _is_pair(asked[group])]


def _side(pitch: Ints, pairs: list[Ints], upper: bool) -> Ints:
    """The row of the upper, or of the lower, note of each pair."""
    choose = np.argmax if upper else np.argmin
    return np.array([pair[choose(pitch[pair])] for pair in pairs], np.int64)
