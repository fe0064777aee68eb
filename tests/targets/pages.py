"""Pages of the fixtures, and pages written on the spot, as targets."""

from __future__ import annotations

import tempfile
from pathlib import Path

from fixtures.scores.text import Score
from fixtures.scores.writing import musicxml
from keysense.targets import read_target
from keysense.targets.target import Target

SCORES = Path(__file__).resolve().parents[2] / "fixtures" / "scores"


def read(name: str) -> Target:
    return read_target(SCORES / f"{name}.musicxml")


def target_from(text: str) -> Target:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "page.musicxml"
        path.write_text(text, "utf-8")
        return read_target(path)


def target_of(score: Score) -> Target:
    return target_from(musicxml(score))
