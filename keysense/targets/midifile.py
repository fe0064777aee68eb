"""A Standard MIDI File becomes a target: notes in quarters, no marks and no page.

Conventions
    Two tracks with notes: the first is the right hand, the second the left. One track: no hands, unless a split pitch
    says where the right hand begins. Bars come from the time signatures, four quarters where there are none; a file
    cannot show a pick-up, so its first bar is bar 1. Ids read ``n1``, ``n2`` in order of onset.
Reference
    The Complete MIDI 1.0 Detailed Specification, Standard MIDI Files 1.0 (MIDI Association): set tempo, time signature.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt

from keysense.errors import TakeFileError, TargetError
from keysense.smf import SmfScore, read_smf_score
from keysense.targets.target import BAR, TARGET_NOTE, Source, Target

__all__ = ["bars_from_signatures", "read_midi_target"]

_MOST_BARS = 20_000
_DRUMS = 9


def read_midi_target(path: str | Path, *, title: str | None = None, split_pitch: int | None = None) -> Target:
    """A target from a .mid file of type 0 or 1.

    split_pitch: the lowest MIDI pitch of the right hand, for a file of one track.
    Raises TargetError, in one line, on a file that cannot be read or holds no notes, and on a split outside the keys.
    """
    path = Path(path)
    if split_pitch is not None and not 0 <= split_pitch <= 127:
        raise TargetError(
            f"the split pitch {split_pitch} is no MIDI pitch: give a number from 0 to 127, such as 60 for C4"
        )
    try:
        score = read_smf_score(path)
    except TakeFileError as cause:
        raise TargetError(str(cause)) from cause  # it names the file already
    tracks = [track.notes[track.notes["channel"] != _DRUMS] for track in score.tracks]
    tracks = [rows for rows in tracks if len(rows)]
    if not tracks:
        raise TargetError(f"{path} holds no notes: bring a file with the tune in it")
    notes = _notes(tracks, _hands(tracks, split_pitch))
    end = float((notes["onset_quarter"] + notes["duration_quarter"]).max())
    bars = bars_from_signatures(score.time_signatures, end, str(path))
    notes["bar"] = bars["number"][np.searchsorted(bars["start_quarter"], notes["onset_quarter"] + 1e-6, "right") - 1]
    source = Source("midi", title or _title(score) or path.stem, path.name)
    return Target(notes, bars, tempo_qpm=score.tempo_qpm, source=source)


def _hands(tracks: list[npt.NDArray[np.void]], split_pitch: int | None) -> list[npt.NDArray[np.str_]]:
    if split_pitch is not None:
        return [np.where(rows["pitch"] >= split_pitch, "R", "L") for rows in tracks]
    if len(tracks) == 2:
        return [np.full(len(rows), hand) for rows, hand in zip(tracks, ("R", "L"), strict=True)]
    return [np.full(len(rows), "") for rows in tracks]


def _notes(tracks: list[npt.NDArray[np.void]], hands: list[npt.NDArray[np.str_]]) -> npt.NDArray[np.void]:
    rows = np.concatenate(tracks)
    notes = np.zeros(len(rows), TARGET_NOTE)
    for name in ("onset_quarter", "duration_quarter", "pitch"):
        notes[name] = rows[name]
    notes["hand"] = np.concatenate(hands)
    notes["voice"] = np.repeat(np.arange(1, len(tracks) + 1), [len(track) for track in tracks])
    notes = notes[np.argsort(notes["onset_quarter"], kind="stable")]
    notes["id"] = [f"n{k}" for k in range(1, len(notes) + 1)]
    return notes


def bars_from_signatures(
    signatures: list[tuple[float, int, int]], end_quarter: float, file: str
) -> npt.NDArray[np.void]:
    """Bars up to the one that holds the end, from (quarter, numerator, denominator) rows.

    Raises TargetError where a signature is none, or makes more bars than any piece has.
    """
    changes = sorted(signatures) or [(0.0, 4, 4)]
    if changes[0][0] > 0:
        changes.insert(0, (0.0, 4, 4))
    starts: list[float] = []
    lengths: list[float] = []
    at = 0.0
    for k, (quarter, top, bottom) in enumerate(changes):
        length = 4.0 * top / bottom if bottom else 0.0
        until = changes[k + 1][0] if k + 1 < len(changes) else end_quarter
        if length <= 0:
            raise TargetError(
                f"{file}: the time signature {top}/{bottom} at quarter {quarter:g} is none: write it again"
            )
        # The first bar is there even where nothing lasts; a change inside a bar cuts it short.
        while at < until - 1e-6 or not starts:
            starts.append(at)
            lengths.append(min(length, max(until - at, 1e-6)) if k + 1 < len(changes) else length)
            at += lengths[-1]
            if len(starts) > _MOST_BARS:
                raise TargetError(f"{file} makes more than {_MOST_BARS} bars: check its tempo and time signatures")
    bars = np.zeros(len(starts), BAR)
    bars["number"], bars["start_quarter"], bars["length_quarter"] = np.arange(1, len(starts) + 1), starts, lengths
    return bars


def _title(score: SmfScore) -> str:
    """The name of the first track where it holds no notes: there it names the piece, elsewhere an instrument."""
    first = score.tracks[0] if score.tracks else None
    return "" if first is None or len(first.notes) else " ".join(first.name.split())[:200]
