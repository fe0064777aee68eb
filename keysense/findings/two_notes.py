"""Two notes with one touch, thumb and little finger: do both speak together and alike?

Conventions
    A trial is two notes written on one onset in one hand, of one voice and one length, marked for thumb and little
    finger or, unfingered, six semitones apart or more. The finger used is not known, only the keys. Positive: the
    little finger's side (the upper note of the right hand, the lower of the left, the upper where no hand is told) is
    later, louder, longer down.

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
_THUMB, _LITTLE = 1, 5
_SAME_LENGTH = 1e-3  # quarters


def two_note_touch(heard: Heard) -> list[Finding]:
    """Gap, loudness and release of the two notes, one row each a hand that has such touches on the page."""
    return [row for hand in heard.hands if _written(heard, hand) for row in _of_hand(heard, hand)]


def _written(heard: Heard, hand: str) -> bool:
    notes, onset = heard.asked(hand), heard.asked_onsets(hand)
    start = np.flatnonzero(np.diff(onset, prepend=-np.inf))
    two = start[np.diff(start, append=len(onset)) == 2]
    if not len(two):
        return False
    return bool(np.any(_are_pairs(heard, np.stack([notes[two], notes[two + 1]], axis=1))))


def _are_pairs(heard: Heard, two: Ints) -> npt.NDArray[np.bool_]:
    """Which two rows of the target (one pair a row) are a trial."""
    finger, pitch = heard.target.notes["finger"][two], heard.target.notes["pitch"][two].astype(int)
    fingered = np.all(np.sort(finger, axis=1) == (_THUMB, _LITTLE), axis=1)
    wide = np.abs(pitch[:, 0] - pitch[:, 1]) >= heard.practice.value("two_note_wide")
    return np.asarray(_one_touch(heard, two) & (fingered | (np.all(finger == 0, axis=1) & wide)))


def _one_touch(heard: Heard, two: Ints) -> npt.NDArray[np.bool_]:
    """Which two are of one voice and written equally long; the lengths of a played target are its own affair."""
    notes = heard.target.notes
    alike = notes["voice"][two[:, 0]] == notes["voice"][two[:, 1]]
    if heard.target.source.kind in ("midi", "model"):
        return np.asarray(alike, bool)
    length = notes["duration_quarter"][two]
    return np.asarray(alike & (np.abs(length[:, 0] - length[:, 1]) < _SAME_LENGTH), bool)


def _of_hand(heard: Heard, hand: str) -> list[Finding]:
    rows, pairs = heard.rows, _pairs(heard, hand)
    pitch = heard.target.notes["pitch"][rows["target"]].astype(int)
    outer, inner = (_side(pitch, pairs, upper) for upper in ((hand != "L"), (hand == "L")))
    place = place_of(heard, pairs.reshape(-1), hand)

    def row(name: str, unit: str, difference: npt.NDArray[np.float64]) -> Finding:
        return median_row(heard, name, unit, difference, place, what="such touches")  # type: ignore[arg-type]

    gap = row("two_note_touch_gap", "ms", 1000 * (rows["onset_s"][outer] - rows["onset_s"][inner]))
    loudness = row("two_note_touch_loudness", "velocity", rows["velocity"][outer] - rows["velocity"][inner])
    if one_velocity(heard):
        loudness = Finding.missing(loudness.name, "velocity", ONE_VELOCITY, n=loudness.n, place=place)
    release = row("two_note_touch_release", "ms", 1000 * (rows["release_s"][outer] - rows["release_s"][inner]))
    return [gap, loudness, release]


def _pairs(heard: Heard, hand: str) -> Ints:
    groups = onset_groups(heard, hand)
    two = groups.where(groups.counts == 2).rows.reshape(-1, 2)
    return two[_are_pairs(heard, heard.rows["target"][two])]


def _side(pitch: Ints, pairs: Ints, upper: bool) -> Ints:
    """The row of the upper, or of the lower, note of each pair."""
    chosen = (np.argmax if upper else np.argmin)(pitch[pairs], axis=1)
    return np.asarray(np.take_along_axis(pairs, chosen[:, None], axis=1)[:, 0], np.int64)
