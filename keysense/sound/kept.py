"""Kept takes made ready to be heard: the one service that the pages and the command share."""

from __future__ import annotations

from pathlib import Path

from keysense.errors import SoundError, StudioError
from keysense.files import write_atomically
from keysense.following import placed
from keysense.sound.piano import FORMATS, encoded, read_piano
from keysense.sound.playback import Playback, at_pace_of, from_bar, one_hand, playback_of, slower
from keysense.sound.render import render
from keysense.studio.looking import target_for
from keysense.studio.studio import Studio

__all__ = ["chosen", "kept_playback", "write_sound"]


def kept_playback(studio: Studio, ref: str, *, pace: str = "") -> Playback:
    """A take of the studio, its notes placed on the page where its music is known.

    pace: another take of the same tune, at whose pace it is heard. Raises UnknownName on a take that is not there,
    SoundError on two takes that are not of one tune.
    """
    one = _placed(studio, ref)
    return at_pace_of(one, _placed(studio, pace)) if pace else one


def chosen(playback: Playback, *, hand: str = "", bar: int | None = None, speed: float = 1.0) -> Playback:
    """From a bar, one hand (``R`` or ``L``), slower, in this order; raises SoundError on what cannot be."""
    if bar is not None:
        playback = from_bar(playback, bar)
    if hand:
        playback = one_hand(playback, hand)
    return slower(playback, speed)


def write_sound(playback: Playback, path: Path | str) -> Path:
    """Write what is heard as a sound file of the kind its name ends in; gives its path.

    Raises SoundError on another ending or where it cannot be written.
    """
    file = Path(path)
    if file.suffix.lower() not in FORMATS:
        raise SoundError(f"{file.name}: a sound file ends with one of {', '.join(FORMATS)}")
    piano = read_piano()
    write_atomically(file, encoded(render(playback, piano), piano.rate_hz, file.suffix.lower()), error=SoundError)
    return file


def _placed(studio: Studio, ref: str) -> Playback:
    stored = studio.take(ref)
    take = studio.take_notes(stored.id)
    try:
        target = target_for(studio, stored).target
    except StudioError:  # no music yet: it is heard from its beginning, both hands
        return playback_of(take)
    return playback_of(take, target, placed(target, take))
