"""The confidence keeps its word: nine in ten of what is given .9 is followed right; what is no take is lost."""

from __future__ import annotations

import numpy as np

from tests.bench.belief import RIGHT_F1, elsewhere, pieces, planted


def test_of_takes_given_nine_tenths_nine_in_ten_are_followed_right() -> None:
    told = list(planted(pieces(9, first=64_000)))
    sure = np.array([one.sure for one in told])
    right = np.array([one.f1 >= RIGHT_F1 for one in told])
    believed = sure >= 0.9
    assert believed.sum() > len(told) / 2
    assert right[believed].mean() >= 0.9
    doubted = sure < 0.5
    assert doubted.sum() >= 8
    assert right[doubted].mean() <= 0.6


def test_takes_of_something_else_are_called_lost() -> None:
    told = list(elsewhere(90, first=74_000))
    assert sum(one.lost for one in told) >= 88
    assert max(one.sure for one in told) < 0.9
