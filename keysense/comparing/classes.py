"""The notes of a card by class: what is new about each one for the eye and the hand that read it.

Conventions
    A class is told of the note a step leads to, from the written music alone, hand by hand where the music moves in
    hands: the upper note of a chord stands for it. See `keysense.comparing.sight` for each class.

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

from keysense.findings.heard import Events, Heard
from keysense.findings.steps import steps_of

__all__ = ["CLASSES", "Card", "card_of"]

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

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
    pitch, hand = _upper(heard, events)
    move, is_move = _moves(pitch, hand)
    size = np.abs(move)
    a_step, a_skip = heard.practice.value("step_semitones"), heard.practice.value("skip_semitones")
    kind = np.sign(move) * np.select([size == 0, size <= a_step, size <= a_skip], [0, 1, 2], 3)
    before = np.append(0, kind[:-1])
    bar_start = np.isin(np.round(events.quarter, 6), np.round(heard.target.bars["start_quarter"], 6))
    return np.stack([
        is_move & np.append(False, is_move[:-1]) & (kind != before),
        is_move & (size > 0) & (size <= a_step),
        is_move & (size > a_step) & (size <= a_skip),
        is_move & (size > a_skip),
        _guides(heard, events, pitch, guide_notes),
        _new_position(pitch, hand, heard.practice.value("hand_semitones")),
        np.append(False, hand[1:] != hand[:-1]),
        bar_start,
        bar_start & np.isin(events.bar, np.array(line_bars, np.int64)),
    ])  # fmt: skip


def _guides(heard: Heard, events: Events, pitch: Ints, guide_notes: Sequence[int]) -> Bools:
    """Where a guide note stands: those marked in this music, else every one of the usual pitches."""
    marked = [mark.start_quarter for mark in heard.marks if mark.kind == "guide"]
    if marked:
        return np.isin(np.round(events.quarter, 6), np.round(marked, 6))
    return np.isin(pitch, np.array(guide_notes, np.int64))


def _upper(heard: Heard, events: Events) -> tuple[Ints, npt.NDArray[np.str_]]:
    """The upper written note of each event, and the hand (or both) that plays it."""
    notes = heard.target.notes[~heard.target.notes["is_grace"]]
    at = np.round(notes["onset_quarter"], 6)
    pitch, hands = np.zeros(len(events), np.int64), []
    for k, quarter in enumerate(np.round(events.quarter, 6)):
        there = notes[at == quarter]
        pitch[k] = int(there["pitch"].max())
        hands.append("".join(sorted(set(there["hand"].tolist()))))
    return pitch, np.array(hands)


def _moves(pitch: Ints, hand: npt.NDArray[np.str_]) -> tuple[Ints, Bools]:
    """Semitones from the note before, where the same hand played it."""
    return np.append(0, np.diff(pitch)), np.append(False, hand[1:] == hand[:-1])


def _new_position(pitch: Ints, hand: npt.NDArray[np.str_], reach: float) -> Bools:
    """Notes outside what five fingers cover since that hand last moved."""
    span: dict[str, tuple[int, int]] = {}
    moved = np.zeros(len(pitch), bool)
    for k, (note, side) in enumerate(zip(pitch.tolist(), hand.tolist(), strict=True)):
        low, high = span.get(side, (note, note))
        low, high = min(low, note), max(high, note)
        if high - low > reach:
            moved[k], low, high = True, note, note
        span[side] = (low, high)
    return moved
