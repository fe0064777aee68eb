"""Scores, MIDI files and model takes, all read into one `Target`."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from keysense.errors import TargetError
from keysense.targets.target import Target

__all__ = ["read_target"]

_SCORES = (".musicxml", ".xml", ".mxl")
_MIDI = (".mid", ".midi")


def read_target(
    path: str | Path,
    *,
    title: str | None = None,
    split_pitch: int | None = None,
    part: str | None = None,
    beside: str | None = None,
    repeats: bool = True,
) -> Target:
    """The music to play, from a MusicXML score (.musicxml, .xml, .mxl) or a Standard MIDI File (.mid, .midi).

    title: instead of the one in the file. split_pitch: for a MIDI file of one track, the lowest MIDI pitch of the right
    hand. part: name of the piano part in a score of several. beside: name of the part that a second player plays on
    the same keyboard. repeats: unfold a score's repeats as played.
    Raises TargetError, in one line, naming the file, where known the bar, and what to do.
    """
    suffix = Path(path).suffix.lower()
    if suffix in _SCORES:
        from keysense.targets.musicxml import read_musicxml

        target = read_musicxml(path, title=title, part=part, repeats=repeats)
        if beside is None:
            return target
        return replace(target, beside=read_musicxml(path, title=title, part=beside, repeats=repeats))
    if suffix in _MIDI:
        from keysense.targets.midifile import read_midi_target

        return read_midi_target(path, title=title, split_pitch=split_pitch)
    raise TargetError(f"{path} is neither MusicXML nor MIDI: bring a .musicxml, .mxl or .mid file")
