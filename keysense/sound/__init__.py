"""To hear a take again: from a bar, one hand, slower, at another take's pace; as sound, as MIDI, as notes."""

from __future__ import annotations

from keysense.sound.playback import Playback, at_pace_of, from_bar, one_hand, playback_of, slower
from keysense.sound.render import render
from keysense.sound.sounding import messages_of, sounding_ends_s

__all__ = [
    "Playback",
    "at_pace_of",
    "from_bar",
    "messages_of",
    "one_hand",
    "playback_of",
    "render",
    "slower",
    "sounding_ends_s",
]
