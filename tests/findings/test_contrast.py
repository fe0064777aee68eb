"""Neighbouring lengths beside each other, as they were played."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.make.listening import heard
from fixtures.make.music import five_fingers, pattern
from fixtures.make.player import Planted

# published: Daniele & Patel 2013, appendix: 42.2
THEIRS = [1, 0.5, 0.5, 1, 0.5, 0.5, 1 / 3, 1 / 3, 1 / 3, 2, *[1 / 3] * 6, 1.5, 1, 0.5]


def test_a_take_played_as_written_has_the_published_contrast() -> None:
    # the lengths of the worked example as a tune; the whole note after it adds one neighbour, in the last bar: free
    found = heard(pattern(THEIRS)).one("npvi", "R")
    pairs = np.array(THEIRS[:-1]), np.array(THEIRS[1:])
    each = 100 * np.abs(pairs[0] - pairs[1]) / ((pairs[0] + pairs[1]) / 2)
    assert each.mean() == pytest.approx(42.2, abs=0.05)
    assert found.n in (len(each), len(each) - 1)
    assert found.value == pytest.approx(each[: found.n].mean(), abs=1e-6)


def test_even_steps_have_none_and_uneven_ones_some() -> None:
    assert heard(five_fingers(4)).one("npvi").value == 0
    # two independent normals of spread s differ by 2 s / sqrt(pi) in the mean
    found = heard(five_fingers(64), Planted(ioi_noise=0.06)).one("npvi")
    assert found.low < 100 * 0.06 * 2 / np.sqrt(np.pi) < found.high


def test_speed_key_and_loudness_change_nothing() -> None:
    plain, moved = Planted(ioi_noise=0.05), Planted(ioi_noise=0.05, tempo_qpm=50, up=2, loudness=90)
    values = [heard(pattern([1.5, 0.5] * 12), plan).one("npvi").value for plan in (plain, moved)]
    assert values[0] == pytest.approx(values[1])


def test_too_few_neighbours_are_missing() -> None:
    assert "takes 8 pairs" in heard(pattern([1] * 6)).one("npvi").why_missing


def test_the_interval_holds_as_often_as_it_says() -> None:
    true = 100 * 0.06 * 2 / np.sqrt(np.pi)
    rows = [heard(five_fingers(4), Planted(ioi_noise=0.06), seed).one("npvi") for seed in range(100)]
    assert 0.88 <= np.mean([row.low <= true <= row.high for row in rows]) <= 0.99
