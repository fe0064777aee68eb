"""The sound itself: pitch by pitch in tune, as loud as struck, silent after the damper; and the files it is kept in."""

from __future__ import annotations

import io

import numpy as np
import numpy.typing as npt
import pytest
import soundfile

from keysense.errors import SoundError
from keysense.notes import Take
from keysense.sound import playback_of, render
from keysense.sound.kept import write_sound
from keysense.sound.piano import FORMATS, encoded, read_piano
from keysense.sound.render import loudness

PIANO = read_piano()


def heard(pitch: int, velocity: int = 80, release_s: float = 1.0) -> npt.NDArray[np.float32]:
    return render(playback_of(Take.from_notes(onset_s=[0], release_s=[release_s], pitch=[pitch], velocity=[velocity])))


def fundamental_hz(sound: npt.NDArray[np.float32], near_hz: float) -> float:
    part = sound[: PIANO.rate_hz] * np.hanning(len(sound[: PIANO.rate_hz]))
    spectrum = np.abs(np.fft.rfft(part, 8 * PIANO.rate_hz))
    hz = np.arange(len(spectrum)) / 8
    window = (hz > near_hz * 0.95) & (hz < near_hz * 1.05)
    return float(hz[window][spectrum[window].argmax()])


@pytest.mark.parametrize("pitch", [40, 48, 55, 60, 61, 64, 67, 72, 76, 81, 88])
def test_every_key_is_in_tune(pitch: int) -> None:
    """Equal temperament at A = 440 Hz, with room for a piano's stretched octaves (ISO 16:1975 for A; M)."""
    wished = 440.0 * 2 ** ((pitch - 69) / 12)
    assert abs(1200 * np.log2(fundamental_hz(heard(pitch), wished) / wished)) < 12


@pytest.mark.parametrize("pitch", [43, 55, 60, 67, 79])
def test_a_note_begins_when_its_key_went_down(pitch: int) -> None:
    sound = np.abs(heard(pitch))
    assert np.flatnonzero(sound > 0.05 * sound.max())[0] < 0.012 * PIANO.rate_hz


def test_loudness_falls_as_the_standard_curve_says() -> None:
    """40 log10(v/127) dB (DLS Level 1, from memory): -12 dB at half."""
    assert 20 * np.log10(loudness(64) / loudness(127)) == pytest.approx(-11.9, abs=0.1)
    levels = [float(np.sqrt((heard(60, velocity) ** 2).mean())) for velocity in (25, 50, 75, 100, 125)]
    assert levels == sorted(levels)
    assert levels[-1] > 8 * levels[0]


def test_a_let_go_key_is_silent_soon_after() -> None:
    sound = np.abs(heard(60, release_s=0.5))
    assert sound[round(0.3 * PIANO.rate_hz) : round(0.5 * PIANO.rate_hz)].max() > 0.01
    assert sound[round(0.65 * PIANO.rate_hz) :].max() < 1e-4


def test_many_notes_at_once_do_not_overshoot() -> None:
    many = Take.from_notes(onset_s=[0] * 12, release_s=[1] * 12, pitch=range(48, 60), velocity=[127] * 12)
    assert 0.5 < np.abs(render(playback_of(many))).max() <= 0.99


def test_nothing_to_hear_is_told() -> None:
    nothing = Take.from_notes(onset_s=[], release_s=[], pitch=[], velocity=[])
    with pytest.raises(SoundError, match="no note"):
        render(playback_of(nothing))


@pytest.mark.parametrize("suffix", sorted(FORMATS))
def test_a_file_of_each_kind_holds_the_sound(suffix: str) -> None:
    sound, rate_hz = soundfile.read(io.BytesIO(encoded(heard(60), PIANO.rate_hz, suffix)))
    assert rate_hz == PIANO.rate_hz
    assert len(sound) / rate_hz == pytest.approx(1.62, abs=0.1)
    assert abs(1200 * np.log2(fundamental_hz(sound, 261.63) / 261.63)) < 12


def test_a_file_that_cannot_be_sound_is_refused(tmp_path) -> None:
    take = Take.from_notes(onset_s=[0], release_s=[1], pitch=[60], velocity=[60])
    with pytest.raises(SoundError, match=r"ends with one of \.wav"):
        write_sound(playback_of(take), tmp_path / "out.doc")
    assert not list(tmp_path.iterdir())


def test_the_piano_is_small_and_whole() -> None:
    from keysense.sound.piano import FOLDER

    assert (FOLDER / "piano.mp3").stat().st_size < 600_000
    assert len(PIANO.bright) == 14
    assert all(np.abs(sound).max() > 0.3 for sound in PIANO.bright.values())
