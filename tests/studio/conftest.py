"""A studio with the register and the shelf that most tests need, and takes made of a few notes."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from keysense.notes import Take
from keysense.smf import take_to_smf
from keysense.studio import Studio
from keysense.targets.target import Source, Target
from tests.studio.tunes import tune

START = datetime(2026, 9, 7, 15, 0, tzinfo=UTC)  # a Monday


class Clock:
    """A clock that stands until it is moved."""

    def __init__(self) -> None:
        self.moment = START

    def __call__(self) -> datetime:
        return self.moment

    def on(self, **later: float) -> None:
        self.moment += timedelta(**later)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def studio(tmp_path: Path, clock: Clock) -> Iterator[Studio]:
    with Studio.open(tmp_path / "studio", now=clock) as opened:
        yield opened


def a_take(n: int = 8, *, gap_s: float = 0.5, pitch: int = 60) -> Take:
    onset = np.arange(n) * gap_s
    return Take.from_notes(
        onset_s=onset,
        release_s=onset + 0.4,
        pitch=[pitch + i % 5 for i in range(n)],
        velocity=[60 + i for i in range(n)],
    )


def a_target(n: int = 8, *, pitch: int = 60, title: str = "") -> Target:
    return Target.from_notes(
        onset_quarter=np.arange(n),
        duration_quarter=np.ones(n),
        pitch=[pitch + i % 5 for i in range(n)],
        hand=["R"] * n,
        tempo_qpm=120.0,
        source=Source("notes", title),
    )


@pytest.fixture
def put(studio: Studio) -> Callable[..., str]:
    """Put a take into the studio; gives its id."""

    def put_in(take: Take | None = None, **options: object) -> str:
        take = take if take is not None else a_take()
        options.setdefault("started_utc", studio.now())
        return studio.add_take(take, take_to_smf(take), **options)  # type: ignore[arg-type]

    return put_in


@pytest.fixture
def lesson(studio: Studio) -> Studio:
    """A studio with Pip and one tune, known as ``lesson.pip`` and ``lesson.cat``."""
    studio.pip = studio.add_pupil("Pip", agreed_by="her father", on="2026-09-01").id
    studio.cat = studio.add_piece("The Miller's Cat").id
    studio.add_target(studio.cat, tune())
    return studio
