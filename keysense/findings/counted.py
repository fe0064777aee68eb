"""Which notes sounded as written?

Conventions
    Each written note of the span that was played counts once, as its judged sounding had it (the last whole pass, see
    `keysense.findings.heard`), so as written + other pitch + left out is the span; two notes written on one key at one
    time count as one. Extra notes count over the whole take. Counts have places and no interval.

Findings
    notes_as_written, notes_other_pitch, notes_left_out, notes_extra (count).
    notes_corrected (count): notes for which another key was struck first and the written one after it, with no going
        back in between; notes_again (count): notes struck once more in the same way, a tie among them. Both are told
        only where there are any, over the whole take: what stands of such a note is as written.
    notes_unspoken (count): of the notes left out, those amid notes struck so softly that the key may not have spoken;
        told only where there are any.

References
    Kinds: Repp 1996; listeners heard only 38 % of eight pianists' errors.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Heard, hand_or_none
from keysense.findings.loudness import one_velocity

__all__ = ["notes_counted"]

_NEIGHBOURS = 4


def notes_counted(heard: Heard) -> list[Finding]:
    """The four counts, with the place of each note that was not as written."""
    rows = heard.rows
    written, other = rows[rows["matched"]], rows[~rows["matched"]]
    left_out = heard.target.notes[heard.following.omitted]
    _, first = np.unique(left_out[["onset_quarter", "pitch"]], return_index=True)  # one key, however often written
    left_out = left_out[np.sort(first)]
    span, extras = len(rows) + len(left_out), _extras(heard)
    return [
        Finding("notes_as_written", len(written), "count", span),
        Finding("notes_other_pitch", len(other), "count", span, places=_places(heard.target.notes[other["target"]])),
        Finding("notes_left_out", len(left_out), "count", span, places=_places(left_out)),
        Finding("notes_extra", len(extras), "count", len(heard.take), places=extras),
        *_struck_twice(heard, span),
        *_unspoken(heard, left_out),
    ]


def _struck_twice(heard: Heard, span: int) -> list[Finding]:
    """The notes that one stretch played straight on has twice or more: put right, or struck again as they were."""
    pairs = heard.following.pairs[np.argsort(heard.following.pairs["played"], kind="stable")]
    pairs = pairs[pairs["target"] >= 0]
    begins = np.sort([part["first_played"] for part in heard.following.passes])
    stretch = np.searchsorted(begins, pairs["played"], side="right")
    note_of = stretch * len(heard.target.notes) + pairs["target"]
    order = np.argsort(note_of, kind="stable")
    twice = np.diff(note_of[order]) == 0
    first, then = pairs[order[:-1][twice]], pairs[order[1:][twice]]
    right, first_right = then["kind"] == "match", first["kind"] == "match"
    told = {"notes_corrected": then[right & ~first_right], "notes_again": then[right & first_right]}
    return [
        Finding(name, len(rows), "count", span, places=_places(heard.target.notes[np.sort(rows["target"])]))
        for name, rows in told.items()
        if len(rows)
    ]


def _unspoken(heard: Heard, left_out: npt.NDArray[np.void]) -> list[Finding]:
    """The left-out notes whose nearest neighbours in their hand were struck at most so firmly as the table says."""
    if one_velocity(heard) or not len(left_out):
        return []
    softest = heard.practice.value("unspoken")
    soft = []
    for note in left_out:
        of_hand = heard.rows[heard.rows["hand"] == note["hand"]]
        near = np.argsort(np.abs(of_hand["quarter"] - note["onset_quarter"]), kind="stable")[:_NEIGHBOURS]
        soft.append(len(near) > 0 and float(np.median(of_hand["velocity"][near])) <= softest)
    silent = left_out[np.array(soft)]
    if not len(silent):
        return []
    return [Finding("notes_unspoken", len(silent), "count", len(left_out), places=_places(silent))]


def _places(notes: npt.NDArray[np.void]) -> tuple[Place, ...]:
    return tuple(
        Place((int(note["bar"]), int(note["bar"])), hand_or_none(str(note["hand"])), str(note["id"])) for note in notes
    )


def _extras(heard: Heard) -> tuple[Place, ...]:
    """Extra notes stand in the bar of the note followed just before them."""
    pairs = heard.following.pairs[np.argsort(heard.following.pairs["played"], kind="stable")]
    followed = np.flatnonzero(pairs["target"] >= 0)
    extra = np.flatnonzero((pairs["target"] < 0) & (pairs["kind"] == "extra"))
    if not len(followed):
        return (Place(),) * len(extra)
    before = followed[np.clip(np.searchsorted(followed, extra) - 1, 0, None)]
    return tuple(Place((bar, bar)) for bar in heard.target.notes["bar"][pairs["target"][before]].tolist())
