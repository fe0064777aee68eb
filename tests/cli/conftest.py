"""Commands are run in this process, through the same door as the program: out, err and the exit code come back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from keysense.cli import app
from keysense.cli.glue import run
from keysense.notes import Take
from keysense.smf import take_to_smf

TUNE = [60, 64, 67, 64, 65, 62, 67, 64, 67, 65, 62, 64, 60, 62, 60, 62, 64, 65, 67, 64, 67, 65, 64, 62, 64, 60]


@dataclass(frozen=True)
class Said:
    code: int
    out: str
    err: str

    @property
    def is_one_clear_line(self) -> bool:
        """Exit code 2, nothing on stdout, and one line on stderr without any trace of the program's insides."""
        lines = self.err.splitlines()
        plain = "Traceback" not in self.err and "Error(" not in self.err and "sqlalche.me" not in self.err
        return (self.code, self.out, len(lines)) == (2, "", 1) and plain and len(lines[0]) > 25


@pytest.fixture
def say(capsys: pytest.CaptureFixture[str]) -> Callable[..., Said]:
    def run_it(*words: object) -> Said:
        capsys.readouterr()
        code = run(app, [str(word) for word in words])
        out, err = capsys.readouterr()
        return Said(code, out, err)

    return run_it


def played(period_s: float = 0.5, velocity: int = 60, gate: float = 0.8, seed: int = 1) -> Take:
    noise = np.random.default_rng(seed)
    onset = np.arange(len(TUNE)) * period_s + noise.normal(0, 0.02 * period_s, len(TUNE))
    onset -= onset.min()
    return Take.from_notes(
        onset_s=onset,
        release_s=onset + gate * period_s,
        pitch=TUNE,
        velocity=np.clip(noise.normal(velocity, 4, len(TUNE)), 1, 127).round(),
    )


@pytest.fixture
def files(tmp_path: Path) -> Path:
    """A folder with the tune, two characters of it, random notes, and an empty playing."""
    place = tmp_path / "files"
    place.mkdir()
    exact = np.arange(len(TUNE)) * 0.5
    tune = Take.from_notes(onset_s=exact, release_s=exact + 0.45, pitch=TUNE, velocity=[64] * len(TUNE))
    noise = np.random.default_rng(5)
    onset = np.sort(noise.uniform(0, 20, 40))
    random = Take.from_notes(
        onset_s=onset, release_s=onset + 0.3, pitch=noise.integers(36, 96, 40), velocity=noise.integers(30, 100, 40)
    )
    nothing = Take.from_notes(onset_s=[], release_s=[], pitch=[], velocity=[])
    takes = {
        "tune": tune,
        "sleepy": played(0.75, 45, 1.02),
        "proud": played(0.4, 90, 0.5, seed=2),
        "random": random,
        "nothing": nothing,
    }
    for name, take in takes.items():
        (place / f"{name}.mid").write_bytes(take_to_smf(take))
    return place


@pytest.fixture
def lesson(say: Callable[..., Said], files: Path) -> Callable[..., Said]:
    """A studio with Pip, her guardian's agreement, and the tune."""
    assert say("pupil", "add", "Pip", "--agreed-by", "her father", "--on", "2026-09-01").code == 0
    assert say("piece", "add", files / "tune.mid", "--title", "The Miller's Cat").code == 0
    return say
