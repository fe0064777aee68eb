"""The second look at all stretches: twice, then what is left over in each."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.attempts import Neighbours, Pressed, after_a_pause, brushed, first_tries, instead, repeated
from keysense.following.following import MATCH, SUBSTITUTION
from keysense.following.pairing import Due, Sounding, due_times, hand_shift, heard_by_path, surest
from keysense.following.passes import Stretch
from keysense.following.same_pitch import pair_same_pitch
from keysense.notes import Take

__all__ = ["second_looks"]

Ints = npt.NDArray[np.int64]


def second_looks(parts: list[Stretch], sounding: Sounding, take: Take, pairs: npt.NDArray[np.void]) -> None:
    """Fill in the pairs of all stretches, which share the presses of the take out among them."""
    onset_s, pitch = np.ascontiguousarray(take.notes["onset_s"]), take.notes["pitch"].astype(np.int64)
    touched, times, keys = brushed(take), onset_s.tolist(), pitch.tolist()
    doubt = np.where(touched, c.BRUSHED_DOUBT, 0.0)
    dues = [due_times(part, sounding, onset_s, *heard_by_path(part, sounding)) for part in parts]
    founds = pair_same_pitch(dues, parts, sounding, onset_s, pitch, doubt)
    for _ in range(c.LOOKS - 1):
        for k, (part, due, found) in enumerate(zip(parts, dues, founds, strict=True)):
            if len(found.press):
                shift = hand_shift(due, sounding, found, onset_s)
                note, press = surest(found, due, sounding, onset_s)
                dues[k] = due_times(part, sounding, onset_s, note, press, shift)
        founds = pair_same_pitch(dues, parts, sounding, onset_s, pitch, doubt)
    for part, due, found in zip(parts, dues, founds, strict=True):
        pair_of = dict(zip(found.press.tolist(), found.due.tolist(), strict=True))
        rows = [row for row in range(part.first_played, part.end_played) if row not in pair_of and not touched[row]]
        if rows:
            _others(rows, due, sounding, times, keys, pair_of)
        press, index = np.array([*pair_of.items()], np.int64).reshape(-1, 2).T
        notes = due.note[index]
        pairs["target"][press] = sounding.row[notes]
        pairs["kind"][press] = np.where(sounding.pitch[notes] == pitch[press], MATCH, SUBSTITUTION)


def _others(
    rows: list[int], due: Due, sounding: Sounding, onset_s: list[float], pitch: list[int], pair_of: dict[int, int]
) -> None:
    """Add to ``pair_of`` what the same-pitch pairing left: notes sounded again, others due just then, first tries."""
    take = Pressed(onset_s, pitch)

    def left() -> list[int]:
        return [row for row in rows if row not in pair_of]

    def free() -> Ints:
        unsounded = np.ones(len(due.note), bool)
        unsounded[[*pair_of.values()]] = False
        return np.flatnonzero(unsounded)

    neighbours = Neighbours(due, sounding)
    repeated(take, rows, pair_of, neighbours)
    close = instead(take, left(), free(), due, sounding, within_s=c.INSTEAD_CLOSE_S, semitones=c.INSTEAD_CLOSE)
    pair_of.update(close)
    after_a_pause(take, left(), pair_of, due, sounding, neighbours)
    first_tries(take, left(), pair_of, neighbours)
    far = instead(take, left(), free(), due, sounding, within_s=c.INSTEAD_WITHIN_S, semitones=c.INSTEAD_FAR)
    pair_of.update(far)
