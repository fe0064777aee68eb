"""From a playback to sound: each note from the nearest sample, as loud as it was struck, as long as it sounded."""

from __future__ import annotations

import numpy as np

from keysense.errors import SoundError
from keysense.sound.piano import Floats, Piano, read_piano
from keysense.sound.playback import Playback
from keysense.sound.sounding import sounding_ends_s

__all__ = ["brightness", "loudness", "render"]

LONGEST_S = 3600.0
_LOUDEST = 0.5  # of one note at full velocity: room for chords
_CEILING = 0.98
_TAIL_S = 0.5
_DAMPER_S = 0.12  # a damper takes about so long (from memory)
_UNDAMPED = 90  # the highest strings of a piano have no dampers (from memory: from about F#6)


def render(playback: Playback, piano: Piano | None = None) -> Floats:
    """The sound, mono, at the piano's rate, between -1 and 1.

    Loudness is kept between takes: nothing is drawn up to full level, so a soft take stays softer than a loud one. Only
    what would overshoot is turned down as a whole. Raises SoundError on no notes, and on more than an hour.
    """
    piano = piano or read_piano()
    notes, ends_s = playback.take.notes, sounding_ends_s(playback.take)
    if not len(notes):
        raise SoundError("there is no note to hear in this take")
    if ends_s.max() > LONGEST_S:
        raise SoundError(f"this take is {ends_s.max() / 60:.0f} minutes long: one file holds an hour at most")
    rate_hz = piano.rate_hz
    longest_s = max(len(sound) for sound in piano.bright.values()) / rate_hz
    sound = np.zeros(round((float(ends_s.max()) + _TAIL_S + _DAMPER_S) * rate_hz), np.float32)
    for note, end_s in zip(notes, ends_s.tolist(), strict=True):
        pitch, onset_s = int(note["pitch"]), float(note["onset_s"])
        held_s = longest_s if pitch >= _UNDAMPED else max(end_s - onset_s, 0.0)
        one = _note(piano, pitch, int(note["velocity"]), held_s)
        start = round(onset_s * rate_hz)
        room = min(len(one), len(sound) - start)
        sound[start : start + room] += one[:room]
    return np.asarray(sound * min(1.0, _CEILING / max(float(np.abs(sound).max()), 1e-9)), np.float32)


def loudness(velocity: int) -> float:
    """The amplitude of a note, 1 at full velocity: 40 log10(v/127) dB.

    The curve is that of DLS Level 1 (MIDI Manufacturers Association), from memory.
    """
    return (velocity / 127.0) ** 2


def brightness(velocity: int) -> float:
    """How much of the bright sample is in a note, 0..1: a soft stroke is duller. A choice of ours, no source."""
    return float(np.clip((velocity - 20) / 80.0, 0.0, 1.0))


def _note(piano: Piano, pitch: int, velocity: int, held_s: float) -> Floats:
    """One note: sample moved to its pitch, mixed, damped."""
    recorded, bright = piano.nearest(pitch), brightness(velocity)
    ratio = 2.0 ** ((pitch - recorded) / 12.0)
    source = bright * piano.bright[recorded] + (1.0 - bright) * piano.dull[recorded]
    n = min(int(len(source) / ratio), round((held_s + _DAMPER_S) * piano.rate_hz))
    sound = np.interp(np.arange(n) * ratio, np.arange(len(source)), source)
    damped_s = np.arange(n) / piano.rate_hz - held_s
    sound *= np.where(damped_s > 0.0, 0.5 + 0.5 * np.cos(np.pi * np.clip(damped_s / _DAMPER_S, 0.0, 1.0)), 1.0)
    return np.asarray(_LOUDEST / 0.7 * loudness(velocity) * sound, np.float32)
