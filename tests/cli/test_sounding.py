"""``keysense sound``: a file for a family."""

from __future__ import annotations

from pathlib import Path

import pytest
import soundfile

ROOT = Path(__file__).resolve().parents[2]
CAT = ROOT / "fixtures" / "scores" / "millers_cat_right.musicxml"
SLEEPY, PROUD = (ROOT / "fixtures" / "takes" / f"{name}_cat.mid" for name in ("sleepy", "proud"))


@pytest.mark.parametrize("suffix", [".wav", ".mp3"])
def test_a_take_becomes_a_sound_file(say, tmp_path, suffix):
    file = tmp_path / f"take{suffix}"
    said = say("sound", SLEEPY, file)
    assert (said.code, said.err, said.out) == (0, "", f"Written: {file}\n")
    assert soundfile.info(file).duration > 5


def test_at_the_pace_of_another_from_a_bar(say, tmp_path):
    for name, words in (
        ("own", [SLEEPY]),
        ("changed", [SLEEPY, "--pace-of", PROUD]),
        ("part", [SLEEPY, "--from-bar", 5]),
    ):
        take, *more = words
        assert say("sound", take, tmp_path / f"{name}.wav", "--target", CAT, *more).code == 0
    own, changed, part = (soundfile.info(tmp_path / f"{name}.wav").duration for name in ("own", "changed", "part"))
    assert changed < 0.8 * own
    assert part < 0.7 * own


def test_what_cannot_be_is_one_clear_line(say, tmp_path):
    assert say("sound", SLEEPY, tmp_path / "take.doc").is_one_clear_line
    assert say("sound", SLEEPY, tmp_path / "take.wav", "--from-bar", 3).is_one_clear_line
    assert say("sound", SLEEPY, tmp_path / "take.wav", "--pace-of", PROUD).is_one_clear_line
    assert say("sound", tmp_path / "no.mid", tmp_path / "take.wav").is_one_clear_line
    assert not list(tmp_path.glob("take*"))
