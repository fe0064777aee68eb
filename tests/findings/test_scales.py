"""Runs of a scale, upward and downward."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.make.listening import heard
from fixtures.make.music import five_fingers
from fixtures.make.player import Planted
from keysense.findings import look
from keysense.notes import Take
from keysense.targets.target import Target

SCALE = [60, 62, 64, 65, 67, 69, 71, 72]


def played(times: int, onset_s: np.ndarray) -> tuple[Take, Target]:
    """A scale up and down so many times, its steps a quarter, and a long note in a bar of its own."""
    pitch = (SCALE + SCALE[-2:0:-1]) * times + [60]
    onset = np.arange(len(pitch), dtype=float)
    length = np.append(np.ones(len(pitch) - 1), 4.0)
    target = Target.from_notes(onset_quarter=onset, duration_quarter=length, pitch=pitch, hand=["R"] * len(pitch),
                               bars_quarter=onset[::14])  # fmt: skip
    return Take.from_notes(onset_s=onset_s, release_s=onset_s + 0.1, pitch=pitch, velocity=60 + onset % 5), target


def test_published_spread_of_professional_scales_is_found_by_direction() -> None:
    # published: 13 professionals, steps of 125 ms, right hand: 8.1 ms up and 8.9 ms down (Jabusch 2006, as cited)
    rng, held = np.random.default_rng(4), {"sd_ioi_up": 0, "sd_ioi_down": 0}
    middle: dict[str, list[float]] = {name: [] for name in held}
    for _ in range(60):
        spread = np.tile(np.repeat([8.1, 8.9], 7), 6)
        onset = np.append(0, np.cumsum(125 + rng.normal(0, spread))) / 1000 + 1
        reading = look(*played(6, onset))
        for name, sd in (("sd_ioi_up", 8.1), ("sd_ioi_down", 8.9)):
            row = reading.one(name, "R")
            held[name] += row.low <= sd <= row.high
            middle[name].append(row.value)
            assert row.n >= 5
    assert min(held.values()) >= 52
    assert np.mean(middle["sd_ioi_up"]) == pytest.approx(8.1 * 0.96, rel=0.05)  # the SD of seven values lies 4 % low
    assert np.mean(middle["sd_ioi_down"]) == pytest.approx(8.9 * 0.96, rel=0.05)


def test_the_median_of_three_computed_runs() -> None:
    # computed, method of van Vugt et al. 2012: runs of eight notes with sd-IOI 3.237, 2.573 and 3.352 ms
    takes = ([0, 124, 250, 379, 500, 627, 748, 876], [0, 126, 253, 381, 502, 629, 752, 879],
             [0, 123, 248, 378, 498, 624, 746, 873])  # fmt: skip
    steps = [[*np.diff(run), *[125] * 7] for run in takes]
    reading = look(*played(3, 1 + np.append(0, np.cumsum(np.concatenate(steps))) / 1000))
    row = reading.one("sd_ioi_up")
    assert (row.n, row.unit) == (3, "ms")
    assert row.value == pytest.approx(3.237, abs=1e-3)
    assert reading.one("sd_ioi_down").value == pytest.approx(0, abs=1e-6)


def test_five_fingers_are_runs_and_one_run_is_too_few() -> None:
    assert heard(five_fingers(4), Planted(ioi_noise=0.05)).one("sd_ioi_up").n >= 3
    one = heard(five_fingers(1), Planted()).one("sd_ioi_up")
    assert one.value is None and "2 runs" in one.why_missing
