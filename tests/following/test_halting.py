"""Halting, then missing; missing, looking, then putting it right: each press is paired with the note it was for."""

from __future__ import annotations

import numpy as np
import pytest

from keysense.findings import look
from keysense.following import follow
from keysense.notes import Take
from keysense.targets.target import Target

SEEDS = 30


def tune(rng: np.random.Generator, notes: int = 24, steps: tuple[int, ...] = (1, 2, 3)) -> list[int]:
    moves = rng.choice([*steps, *(-step for step in steps)], notes)
    return np.clip(67 + np.cumsum(moves), 55, 84).tolist()  # type: ignore[no-any-return]


def target(pitch: list[int], tempo_qpm: float = 90) -> Target:
    n = len(pitch)
    return Target.from_notes(onset_quarter=np.arange(n), duration_quarter=np.ones(n), pitch=pitch, tempo_qpm=tempo_qpm)


def take(onset_s: np.ndarray, pitch: list[int]) -> Take:
    return Take.from_notes(onset_s=onset_s, release_s=onset_s + 0.3, pitch=pitch, velocity=[60] * len(pitch))


def beats(rng: np.random.Generator, notes: int, period_s: float) -> np.ndarray:
    return np.cumsum(period_s * np.exp(rng.normal(0, 0.04, notes)))


@pytest.mark.parametrize("wait_s", [0.8, 2.0, 4.0])
@pytest.mark.parametrize("semitones", [1, 2])
def test_another_key_after_a_pause_stands_for_its_own_note_and_the_pause_is_told(wait_s: float, semitones: int) -> None:
    right = waits = 0
    for seed in range(SEEDS):
        rng = np.random.default_rng(seed)
        written = tune(rng)
        at = int(rng.integers(5, 19))
        played, onset_s = list(written), beats(rng, len(written), 0.7)
        played[at] += semitones if seed % 2 else -semitones
        onset_s[at:] += wait_s
        reading = look(take(onset_s, played), target(written))
        right += int(reading.following.pairs["target"][at] == at)
        waits += int(reading.one("waits").value == 1)
    assert min(right, waits) >= 0.9 * SEEDS


@pytest.mark.parametrize("after_s", [0.4, 1.0, 1.6, 2.4])
@pytest.mark.parametrize("semitones", [1, 3])  # of a tune that moves by two, so that it is no neighbour's key
def test_a_first_try_is_paired_however_slowly_it_is_put_right(after_s: float, semitones: int) -> None:
    paired = 0
    for seed in range(SEEDS):
        rng = np.random.default_rng(seed)
        written = tune(rng, steps=(2,))
        at = int(rng.integers(5, 19))
        first = written[at] + (semitones if seed % 2 else -semitones)
        onset_s = beats(rng, len(written), 1.2)
        played = [*written[:at], first, *written[at:]]
        times = np.concatenate([onset_s[: at + 1], onset_s[at:] + after_s])
        found = follow(target(written, 50), take(times, played)).pairs["target"]
        paired += int(found[at] == found[at + 1] == at)
    assert paired >= 0.9 * SEEDS


def test_a_press_astray_between_two_notes_in_time_is_for_neither() -> None:
    for seed in range(SEEDS):
        rng = np.random.default_rng(seed)
        written = tune(rng)
        at = int(rng.integers(5, 19))
        onset_s = beats(rng, len(written), 0.8)
        played = [*written[:at], written[at] + 4, *written[at:]]
        times = np.insert(onset_s, at, (onset_s[at - 1] + onset_s[at]) / 2)
        assert follow(target(written), take(times, played)).pairs["kind"][at] == "extra"


@pytest.mark.parametrize("semitones", [-12, 12])
def test_a_note_that_slipped_by_an_octave_is_that_note(semitones: int) -> None:
    paired = 0
    for seed in range(SEEDS):
        rng = np.random.default_rng(seed)
        written = tune(rng)
        at = int(rng.integers(5, 19))
        played = [*written[:at], written[at] + semitones, *written[at + 1 :]]
        pair = follow(target(written), take(beats(rng, len(written), 0.8), played)).pairs[at]
        paired += (pair["target"], pair["kind"]) == (at, "substitution")
    assert paired >= 0.9 * SEEDS  # of a note repeated five times it may be any
