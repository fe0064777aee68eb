"""The sampled piano: fourteen pitches in one small file, the same that the pages play. The only soundfile."""

from __future__ import annotations

import io
import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from keysense.errors import SoundError

__all__ = ["FORMATS", "Piano", "encoded", "read_piano"]

FOLDER = Path(__file__).resolve().parents[1] / "web" / "static" / "piano"
FORMATS = {".wav": ("WAV", "PCM_16"), ".flac": ("FLAC", "PCM_16"), ".ogg": ("OGG", "VORBIS"), ".mp3": ("MP3", None)}

_LOUD_ENOUGH = 0.02  # of a sample's loudest: there it begins
_BEFORE_S = 0.12  # an encoder may put so much silence in front
_DULL = 15  # samples of the smoothing that makes the soft tone

Floats = npt.NDArray[np.float32]


@dataclass(frozen=True)
class Piano:
    """The samples, by the pitch that was recorded: as they are, and dulled as a soft stroke sounds."""

    rate_hz: int
    bright: dict[int, Floats]
    dull: dict[int, Floats]

    def nearest(self, pitch: int) -> int:
        """The recorded pitch to play this one from; of two as near, the lower."""
        return min(self.bright, key=lambda recorded: (abs(recorded - pitch), recorded))


@cache
def read_piano() -> Piano:
    """The piano of this package. Raises SoundError where its file cannot be read."""
    soundfile = _soundfile()
    slots = json.loads((FOLDER / "piano.json").read_text("utf-8"))
    try:
        sound, rate_hz = soundfile.read(FOLDER / slots["file"], dtype="float32")
    except (OSError, RuntimeError) as cause:
        raise SoundError(f"the sampled piano cannot be read ({cause}): install keysense again") from cause
    bright = {int(slot["pitch"]): _cut(sound, rate_hz, slot) for slot in slots["slots"]}
    kernel = np.hanning(_DULL + 2)[1:-1]
    kernel /= kernel.sum()
    dull = {pitch: np.convolve(cut, kernel, "same").astype(np.float32) for pitch, cut in bright.items()}
    return Piano(rate_hz, bright, dull)


def encoded(sound: Floats, rate_hz: int, suffix: str) -> bytes:
    """Sound as the bytes of a file of this kind. Raises SoundError on a kind that cannot be written."""
    if suffix not in FORMATS:
        raise SoundError(f"no sound file ends {suffix or 'like this'!r}: choose one of {', '.join(FORMATS)}")
    kind, subtype = FORMATS[suffix]
    buffer = io.BytesIO()
    try:
        _soundfile().write(buffer, sound, rate_hz, subtype, format=kind)
    except (OSError, RuntimeError, ValueError) as cause:
        raise SoundError(f"this computer cannot write {suffix} ({cause}): write .wav instead") from cause
    return buffer.getvalue()


def _cut(sound: Floats, rate_hz: int, slot: dict[str, float]) -> Floats:
    """One pitch from its very beginning, wherever the decoder put it."""
    start, before = round(slot["start_s"] * rate_hz), round(_BEFORE_S * rate_hz)
    cut = sound[start - before : start + round(slot["length_s"] * rate_hz)]
    first = int(np.flatnonzero(np.abs(cut) > _LOUD_ENOUGH * np.abs(cut).max())[0])
    return cut[max(first - rate_hz // 1000, 0) :]


def _soundfile() -> Any:
    try:
        import soundfile
    except (ImportError, OSError) as cause:
        raise SoundError(f"sound files need the soundfile library, which does not load here ({cause})") from cause
    return soundfile
