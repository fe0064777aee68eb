"""Several recordings of one tune: what they agree on, how they spread, and what is asked."""

from __future__ import annotations

import json

import numpy as np
import pytest

from keysense.errors import TargetError
from keysense.following import Question, teach
from keysense.notes import Take
from keysense.targets.target import SPREAD, Target
from tests.bench import tunes

TUNE = tunes.piece(3, bars=6, hands=1)
PITCH = TUNE.notes["pitch"].astype(int)
QUARTER = TUNE.notes["onset_quarter"]


def recording(
    quarter_s: float = 0.6, velocity: float = 60.0, hold: float = 0.9, *, longer: int | None = None, of: Target = TUNE
) -> Take:
    """The tune quite evenly; from one row to the next onset it takes twice its time."""
    onset = of.notes["onset_quarter"] * quarter_s
    if longer is not None:
        at = of.notes["onset_quarter"][longer]
        step = np.unique(of.notes["onset_quarter"])
        onset = onset + (of.notes["onset_quarter"] > at) * quarter_s * (step[step > at][0] - at)
    return Take.from_notes(
        onset_s=onset, release_s=onset + hold * quarter_s * of.notes["duration_quarter"],
        pitch=of.notes["pitch"], velocity=np.full(len(onset), int(velocity)),
    )  # fmt: skip


def written(target: Target) -> list[tuple[float, int]]:
    return sorted(target.notes[["onset_quarter", "pitch"]].tolist())


def changed(take: Take, row: int, pitch: int) -> Take:
    notes = take.notes.copy()
    notes["pitch"][row] = pitch
    return Take(notes, take.pedals)


def test_the_spread_is_that_of_the_recordings() -> None:
    row = int(np.flatnonzero(QUARTER == 8.0)[0])
    takes = [
        recording(velocity=50, hold=0.8),
        recording(0.5, velocity=60, hold=0.9),
        recording(0.7, velocity=70, hold=1.0, longer=row),
    ]
    taught = teach(takes, tempo_qpm=100)
    spread = taught.target.spread
    assert taught.questions == ()
    assert spread.dtype == SPREAD
    assert len(spread) == len(taught.target.notes) == len(PITCH)
    assert spread["takes"].tolist() == [3] * len(PITCH)
    assert spread["velocity"] == pytest.approx(60.0)
    assert spread["velocity_spread"] == pytest.approx(10.0)
    steady = np.flatnonzero((QUARTER[row] != QUARTER) & (QUARTER.max() > QUARTER))
    assert spread["timing_ratio"][steady] == pytest.approx(1.0, abs=1e-6)
    assert spread["timing_spread"][steady] == pytest.approx(0.0, abs=1e-6)
    assert spread["timing_ratio"][row] == pytest.approx(2 ** (1 / 3))
    assert spread["timing_spread"][row] == pytest.approx(np.log(2) / np.sqrt(3))
    assert spread["hold_ratio"][steady] == pytest.approx(0.9, abs=1e-6)
    assert spread["hold_spread"][steady] == pytest.approx(0.1, abs=1e-6)
    assert np.isnan(spread["timing_ratio"][QUARTER.max() <= QUARTER]).all()


def test_a_slip_is_asked_about_and_not_learnt() -> None:
    row, slip = 7, int(PITCH[7]) + 1
    takes = [recording(), changed(recording(0.5), row, slip), recording(0.7)]
    takes[1].notes["velocity"][row] = 127
    taught = teach(takes, tempo_qpm=100)
    assert written(taught.target) == written(TUNE)
    assert taught.questions == (Question("other", 1, int(TUNE.notes["bar"][row]), int(PITCH[row]), slip, 2),)
    assert taught.target.spread["takes"][row] == 2
    assert taught.target.spread["velocity"][row] == pytest.approx(60.0)


def test_a_slip_in_the_first_of_three_is_asked_about_too() -> None:
    taught = teach([changed(recording(), 7, int(PITCH[7]) + 1), recording(0.5), recording(0.7)], tempo_qpm=100)
    assert written(taught.target) == written(TUNE)
    assert [(q.kind, q.recording, q.heard) for q in taught.questions] == [("other", 0, int(PITCH[7]) + 1)]


def test_of_two_that_differ_it_is_asked_which_stands() -> None:
    taught = teach([recording(), changed(recording(), 7, int(PITCH[7]) + 1)], tempo_qpm=100)
    (question,) = taught.questions
    assert (question.kind, question.recording, question.agreeing) == ("other", 1, 1)


def test_what_one_leaves_out_or_has_beside_is_asked() -> None:
    short = recording()
    short = Take(np.delete(short.notes, 9), short.pedals)
    notes = np.concatenate([recording().notes, recording().notes[12:13]])
    notes["onset_s"][-1] += 0.25
    notes["pitch"][-1] = 30
    more = Take(np.sort(notes, order="onset_s"), short.pedals)
    taught = teach([recording(), short, more, recording(0.5)], tempo_qpm=100)
    assert written(taught.target) == written(TUNE)
    found = {(q.kind, q.recording, q.taken, q.heard) for q in taught.questions}
    assert found == {("left out", 1, int(PITCH[9]), None), ("more", 2, None, 30)}


def test_the_target_of_one_recording_has_no_spread_between_recordings_and_asks_nothing() -> None:
    taught = teach([changed(recording(), 7, 90)], tempo_qpm=100)
    assert taught.questions == ()
    assert np.isnan(taught.target.spread["velocity_spread"]).all()
    assert taught.target.spread["velocity"] == pytest.approx(60.0)


def test_the_spread_is_kept_and_targets_kept_before_still_open() -> None:
    target = teach([recording(), recording(0.5)], tempo_qpm=100).target
    kept = json.loads(json.dumps(target.to_json(), allow_nan=False))
    again = Target.from_json(kept).spread
    for name in SPREAD.names or ():
        assert np.array_equal(again[name], target.spread[name], equal_nan=True)
    del kept["spread"]
    assert len(Target.from_json(kept).spread) == 0
    assert "spread" not in TUNE.to_json()


def test_another_tune_is_refused() -> None:
    with pytest.raises(TargetError, match="recording 2"):
        teach([recording(), recording(of=tunes.piece(8, bars=6, hands=1))], tempo_qpm=100)
