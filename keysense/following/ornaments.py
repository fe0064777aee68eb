"""Trills, mordents, turns and repeated strokes that the page asks for by a sign: one written note, many presses.

The first press of the written key stays the note's; what is pressed within two semitones of it, from just before until
the next note of that hand comes, is of its ornament, and neither a slip nor an extra note.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.following import MATCH, ORNAMENT
from keysense.following.pairing import Sounding
from keysense.following.passes import Stretch
from keysense.notes import Take
from keysense.targets.target import Target

__all__ = ["play_out"]

Ints = npt.NDArray[np.int64]


def play_out(target: Target, take: Take, parts: list[Stretch], sounding: Sounding, pairs: npt.NDArray[np.void]) -> None:
    """Mark the presses of each ornament in ``pairs``: kind `ORNAMENT`, of no note."""
    asked = {id_ for mark in target.marks if mark.kind == "ornament" for id_ in mark.note_ids}
    if not asked:
        return
    rows = np.flatnonzero(np.isin(target.notes["id"], [*asked]) & (sounding.at_row >= 0))
    for part in parts:
        played = np.arange(part.first_played, part.end_played)
        for row in rows[np.isin(rows, pairs["target"][played])].tolist():
            _play_out(row, int(sounding.pitch[sounding.at_row[row]]), target, take, played, pairs)


def _play_out(row: int, key: int, target: Target, take: Take, played: Ints, pairs: npt.NDArray[np.void]) -> None:
    """One ornament within one stretch."""
    onset_s, pitch = take.notes["onset_s"][played], take.notes["pitch"][played].astype(np.int64)
    note, kind = pairs["target"][played], pairs["kind"][played]
    own_s = float(onset_s[note == row].min())
    quarter, hand = target.notes["onset_quarter"], target.notes["hand"]
    others = (note >= 0) & (kind == MATCH) & (hand[note] == hand[row])
    later = others & (quarter[note] > quarter[row] + 1e-6) & (onset_s > own_s)
    earlier = onset_s[others & (quarter[note] < quarter[row] - 1e-6) & (onset_s < own_s)]
    # of a note after it the last stroke stands: one before may be of the trill
    last_of = dict(zip(note[later].tolist(), onset_s[later].tolist(), strict=True))
    first_s = max(own_s - c.ORNAMENT_BEFORE_S, earlier.max(initial=-np.inf))
    of_it = (onset_s > first_s) & (onset_s < min(last_of.values(), default=np.inf))
    of_it &= ((note == row) | (kind != MATCH) | later) & (np.abs(pitch - key) <= c.ORNAMENT_SEMITONES)
    exact = np.flatnonzero(of_it & (pitch == key))
    if not len(exact):
        return
    rest = played[of_it & (np.arange(len(played)) != exact[0])]
    pairs["target"][rest], pairs["kind"][rest] = -1, ORNAMENT
    pairs["target"][played[exact[0]]], pairs["kind"][played[exact[0]]] = row, MATCH
