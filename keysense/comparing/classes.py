"""The notes of a card by class: what is new about each one for the eye and the hand that read it.

Conventions
    A class is told of the note a step leads to, from the written music alone: of notes struck together the upper one.
    How far it moves, whether the pattern changes there and whether its hand leaves its place is told from the last
    notes of that same hand, whatever the other hand does meanwhile. The hands change where no hand of the notes before
    plays on, and the pattern begins anew there; a hand that joins or falls silent is no change. See
    `keysense.comparing.sight` for each class.

Findings
    None of its own: what first sight is asked about.

References
    Step, skip, leap and a new place of the hand by the rows ``step_semitones``, ``skip_semitones`` and
    ``hand_semitones`` of the table of practice: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.findings.heard import Events, Heard, distinct
from keysense.findings.steps import steps_of
from keysense.practice import Practice

__all__ = ["CLASSES", "Card", "card_of"]

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

_SILENT = -1
CLASSES = (
    "pattern_change", "step", "skip", "leap", "guide_note", "new_position", "hand_change", "bar_line", "line_end",
)  # fmt: skip


@dataclass(frozen=True)
class Card:
    """The pauses of one card: quarter (where each begins), y (ln seconds a quarter), length (quarters), and by class
    (rows in the order of `CLASSES`) which notes belong to it."""

    quarter: Floats
    y: Floats
    length: Floats
    member: Bools


def card_of(heard: Heard, guide_notes: Sequence[int] = (), line_bars: Sequence[int] = ()) -> Card:
    """The card that one take played; empty where the place was lost or too little came."""
    events = heard.all_events
    if heard.following.lost or len(events) < 2:
        return Card(np.zeros(0), np.zeros(0), np.zeros(0), np.zeros((len(CLASSES), 0), bool))
    steps = steps_of(heard, events)
    member = _members(heard, events, guide_notes, line_bars)
    kept = ~steps.free
    return Card(steps.start[kept], steps.y[kept], steps.length[kept], member[:, steps.second[kept]])


def _members(heard: Heard, events: Events, guide_notes: Sequence[int], line_bars: Sequence[int]) -> Bools:
    pitch = _upper(heard, events)
    plays = pitch > _SILENT
    handed = np.append(False, ~(plays[:, 1:] & plays[:, :-1]).any(0))
    of_hand = np.stack([_of_hand(row, handed, heard.practice) for row in pitch])
    change, step, skip, leap, moved = of_hand[pitch.argmax(0), :, np.arange(len(events))].T
    bar_start = np.isin(np.round(events.quarter, 6), np.round(heard.target.bars["start_quarter"], 6))
    return np.stack([
        change, step, skip, leap,
        _guides(heard, events, pitch.max(0), guide_notes),
        moved, handed, bar_start,
        bar_start & np.isin(events.bar, np.array(line_bars, np.int64)),
    ])  # fmt: skip


def _guides(heard: Heard, events: Events, pitch: Ints, guide_notes: Sequence[int]) -> Bools:
    """Where a guide note stands: those marked in this music, else every one of the usual pitches."""
    marked = [mark.start_quarter for mark in heard.marks if mark.kind == "guide"]
    if marked:
        return np.isin(np.round(events.quarter, 6), np.round(marked, 6))
    return np.isin(pitch, np.array(guide_notes, np.int64))


def _upper(heard: Heard, events: Events) -> Ints:
    """The upper written note of each hand that sounds (rows) at each event (columns); `_SILENT` where it has none."""
    notes = heard.target.notes[~heard.target.notes["is_grace"]]
    quarter = np.round(events.quarter, 6).tolist()
    rows = []
    for hand in distinct(np.sort(heard.rows["hand"])):
        own = notes[notes["hand"] == hand]
        order = np.argsort(own["pitch"], kind="stable")
        upper = dict(zip(np.round(own["onset_quarter"][order], 6).tolist(), own["pitch"][order].tolist(), strict=True))
        rows.append([upper.get(at, _SILENT) for at in quarter])
    return np.array(rows, np.int64)


def _of_hand(pitch: Ints, handed: Bools, practice: Practice) -> Bools:
    """Of one hand's upper notes, a column an event: whether the pattern changes, step, skip, leap, a new place."""
    at = np.flatnonzero(pitch > _SILENT)
    found = np.zeros((5, len(pitch)), bool)
    if not len(at):
        return found
    move = np.diff(pitch[at])
    size, after = np.abs(move), at[1:]
    a_step, a_skip = practice.value("step_semitones"), practice.value("skip_semitones")
    kind = np.sign(move) * np.select([size == 0, size <= a_step, size <= a_skip], [0, 1, 2], 3)
    goes_on = ~handed[after]
    found[0, after[1:]] = goes_on[1:] & goes_on[:-1] & (np.diff(kind) != 0)
    found[1, after] = (size > 0) & (size <= a_step)
    found[2, after] = (size > a_step) & (size <= a_skip)
    found[3, after] = size > a_skip
    found[4, at] = _new_position(pitch[at].tolist(), practice.value("hand_semitones"))
    return found


def _new_position(pitch: Sequence[int], reach: float) -> list[bool]:
    """Notes of one hand outside what five fingers cover since it last moved."""
    low = high = pitch[0]
    moved = []
    for note in pitch:
        low, high = min(low, note), max(high, note)
        moved.append(high - low > reach)
        if moved[-1]:
            low = high = note
    return moved
