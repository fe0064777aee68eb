"""Does each phrase go out and come home, in pace and in touch."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fixtures.make.listening import heard
from fixtures.make.music import five_fingers, millers_cat, snail
from fixtures.make.player import Planted, play

PHRASED = five_fingers(8).with_phrases((0, 16), (16, 32), (32, 48), (48, 68))
PLAN = Planted(arch=0.2, swell=12, ioi_noise=0.03, touch_noise=3)


def test_the_planted_arches_are_found() -> None:
    # common practice: phrases arch; computed: professionals' loudness arches in as few as 58 %, so there is no limit
    reading = heard(PHRASED, PLAN)
    tempo, loudness = reading.named("arch_tempo"), reading.named("arch_loudness")
    assert [row.place.bars for row in loudness] == [(1, 4), (5, 8), (9, 12), (13, 17)]
    assert np.mean([row.value for row in tempo]) == pytest.approx(100 * math.expm1(0.2), abs=5)
    assert np.mean([row.value for row in loudness]) == pytest.approx(12, abs=3)
    assert all(row.limit is None for row in (*tempo, *loudness))


def test_the_arch_is_numpys_quadratic() -> None:
    # published: Todd 1992 takes the arch as quadratic; computed: numpy.polyfit on the same steps
    played, reading = play(PHRASED, PLAN, 1), heard(PHRASED, PLAN)
    y = np.log(np.diff(played.onset_s) / np.diff(PHRASED.onset))
    inside = PHRASED.onset[:-1] < 15  # the step across the phrase end is free
    curve = np.polyfit(2 * PHRASED.onset[:-1][inside] / 16 - 1, y[inside], 2)
    assert reading.one("arch_tempo").value == pytest.approx(100 * math.expm1(curve[0]), rel=1e-6)


def test_speed_key_and_loudness_change_nothing() -> None:
    plain = heard(PHRASED, PLAN)
    moved = heard(PHRASED, Planted(arch=0.2, swell=12, ioi_noise=0.03, touch_noise=3, tempo_qpm=60, up=2, loudness=80))
    for name in ("arch_tempo", "arch_loudness"):
        assert [row.value for row in moved.named(name)] == pytest.approx([row.value for row in plain.named(name)])


def test_short_phrases_are_missing_and_unmarked_ones_are_no_question() -> None:
    short = snail().with_phrases((0, 4), (4, 8))
    assert {row.value for row in heard(short).named("arch_loudness")} == {None}
    assert heard(millers_cat().with_phrases()).named("arch_tempo") == ()


@pytest.mark.parametrize("name", ["arch_tempo", "arch_loudness"])
def test_the_interval_holds_the_plant_as_often_as_it_says(name: str) -> None:
    held = []
    for seed in range(60):
        played_truth = play(PHRASED, PLAN, seed).truth[name]
        held += [row.low <= played_truth <= row.high for row in heard(PHRASED, PLAN, seed).named(name)]
    assert 0.9 <= np.mean(held) <= 0.99  # 240 intervals that lean on the same scatter four by four
