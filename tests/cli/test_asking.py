"""The questions of a tune played in twice stand in words on the screen."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from keysense.cli.asking import asked, key_name
from keysense.following import Question
from keysense.notes import Take
from keysense.smf import take_to_smf


def test_each_kind_is_one_line_and_names_bar_and_recording() -> None:
    kinds = [("other", 60, 61), ("left out", 60, None), ("more", None, 61), ("again", None, None)]
    questions = [Question(kind, 1, 3, taken, heard, 2) for kind, taken, heard in kinds]
    lines = asked(questions, ["a", "b", "c"])
    assert len(lines) == 5
    assert all("bar 3: which stands? b " in line and "\n" not in line for line in lines[:4])
    assert lines[0].endswith("has C sharp 4, the others C4, which was taken.")
    assert asked([], ["a"]) == []
    assert "and 4 more" in asked(questions * 3, ["a", "b", "c"])[-2]


def test_middle_c_is_c4() -> None:
    assert [key_name(pitch) for pitch in (21, 60, 108)] == ["A0", "C4", "C8"]


def test_a_slip_in_one_of_two_is_asked(lesson, tmp_path: Path) -> None:
    pitch = [60, 62, 64, 65, 67, 65, 64, 62, 60, 64, 67, 72]
    files = []
    for name, played in (("one", pitch), ("two", [*pitch[:5], 66, *pitch[6:]])):
        onset = np.arange(12) * 0.5
        take = Take.from_notes(onset_s=onset, release_s=onset + 0.4, pitch=played, velocity=[64] * 12)
        files.append(tmp_path / f"{name}.mid")
        files[-1].write_bytes(take_to_smf(take))
    said = lesson("piece", "play-in", "By Ear", *files, "--tempo", "120")
    assert said.code == 0, said.err
    assert "bar 2: which stands?" in said.out
    assert "F sharp 4, the other F4" in said.out
