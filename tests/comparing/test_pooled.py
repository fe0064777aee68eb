"""The takes of one day taken together: a short piece tells more, and alike is still alike."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.make.music import Music, millers_cat, snail
from fixtures.make.player import Planted, play
from keysense.comparing import Comparison, compare
from keysense.findings import Reading, look

NOISE = {"ioi_noise": 0.08, "touch_noise": 8, "hold_noise": 0.1}
PAIRS = 40


def readings(seed: int, number: int, music: Music | None = None, **planted: float) -> list[Reading]:
    found = []
    for k in range(number):
        played = play(music or snail(), Planted(**NOISE, **planted), 100 * seed + k)
        found.append(look(played.take(), played.music.target(), following=played.following()))
    return found


def both(a: list[Reading], b: list[Reading]) -> Comparison:
    return compare(a[0], b[0], more_a=a[1:], more_b=b[1:])


def test_row_22_three_takes_of_eight_notes_tell_two_characters_apart_that_one_does_not() -> None:
    told, half = {1: 0, 3: 0}, {1: [], 3: []}
    for seed in range(PAIRS):
        a, b = readings(seed, 3, loudness=60), readings(seed + 1000, 3, loudness=74)
        for number in told:
            found = both(a[:number], b[:number]).one("loudness")
            told[number] += found.outcome is not None and found.difference.low > 0
            half[number].append((found.difference.high - found.difference.low) / 2)
    assert told[3] >= 0.9 * PAIRS > told[1]
    assert np.median(half[3]) == pytest.approx(np.median(half[1]) / np.sqrt(3), rel=0.15)


def test_alike_is_still_alike() -> None:
    claims = [both(readings(s, 3), readings(s + 1000, 3)) for s in range(PAIRS)]
    assert sum(any(dimension.outcome for dimension in one.dimensions) for one in claims) <= 0.1 * PAIRS


def test_the_mean_lies_among_its_takes_and_keeps_pace_and_touch() -> None:
    found = both(readings(1, 3, tempo_qpm=80, hold=0.6), readings(2, 3, tempo_qpm=120, hold=1.0))
    assert found.takes == (3, 3)
    assert found.one("tempo").a.value == pytest.approx(80, rel=0.06)
    assert found.one("tempo").b.value == pytest.approx(120, rel=0.06)
    assert found.one("touch").a.value == pytest.approx(0.6, abs=0.08)


def test_a_take_that_went_back_used_the_pedal_or_lost_the_place_is_left_out() -> None:
    plain = readings(3, 2, millers_cat())
    back = readings(4, 1, millers_cat(), restart=(12, 4))
    pedalled = readings(5, 1, millers_cat(), pedal=True)
    others = readings(6, 1, millers_cat(), loudness=80)
    assert both([*plain, *back, *pedalled], others).takes == (2, 1)
    assert both([*pedalled, *plain], others).takes == (1, 1)
