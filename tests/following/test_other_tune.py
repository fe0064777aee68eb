"""A long tune of few keys is not taken for another one of the same keys."""

from __future__ import annotations

import numpy as np
import pytest

from keysense.following import follow
from keysense.notes import Take
from keysense.targets.target import Target


def stepwise(rng: np.random.Generator, notes: int, keys: int) -> list[int]:
    """A tune of equal quarters that moves by step or stays, as tunes of five fingers do."""
    line = [int(rng.integers(0, keys))]
    while len(line) < notes:
        line.append(int(np.clip(line[-1] + rng.choice([-2, -1, -1, 0, 1, 1, 2]), 0, keys - 1)))
    return [60 + [0, 2, 4, 5, 7, 9, 11, 12, 14, 16][degree] for degree in line]


def target(pitch: list[int]) -> Target:
    n = len(pitch)
    return Target.from_notes(onset_quarter=np.arange(n), duration_quarter=np.ones(n), pitch=pitch, tempo_qpm=90)


def take(rng: np.random.Generator, pitch: list[int]) -> Take:
    onset_s = np.cumsum(0.66 * np.exp(rng.normal(0, 0.05, len(pitch))))
    return Take.from_notes(
        onset_s=onset_s, release_s=onset_s + 0.55, pitch=pitch, velocity=rng.integers(45, 80, len(pitch))
    )


@pytest.mark.parametrize("keys", [5, 8, 10])
@pytest.mark.parametrize("notes", [48, 96, 192])
def test_another_tune_of_the_same_keys_is_lost_and_the_right_one_is_not(keys: int, notes: int) -> None:
    tries, kept = 6, 0
    for seed in range(tries):
        rng = np.random.default_rng([seed, keys, notes])
        written, other = stepwise(rng, notes, keys), stepwise(rng, notes, keys)
        slips = list(written)
        for row in rng.choice(notes, notes // 16, replace=False):
            slips[row] += 1
        again = slips[:20] + slips[12:]  # a going back too
        assert not follow(target(written), take(rng, again)).lost
        kept += not follow(target(written), take(rng, other)).lost
    assert kept <= 1
