"""Is the rhythm the written one."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.make.listening import heard
from fixtures.make.music import pattern
from fixtures.make.player import Planted
from keysense.findings.contrast import npvi

DOTTED = pattern([1.5, 0.5] * 12)
EIGHTHS = pattern([0.5] * 32)


def stretched(music, first: float, second: float) -> dict[int, float]:
    """Steps of each pair on the beat made so many times as long."""
    n = len(music) - 1
    return {k + 1: (first, second)[k % 2] for k in range(n)}


def test_the_published_contrasts_of_neighbouring_lengths() -> None:
    # published: Daniele & Patel 2013, appendix: 42.2; Condit-Schultz 2019: 40, 66.67; ratio pairs 1:3 = 100, 2:3 = 40
    theirs = [1, 0.5, 0.5, 1, 0.5, 0.5, 1 / 3, 1 / 3, 1 / 3, 2, *[1 / 3] * 6, 1.5, 1, 0.5]
    assert npvi(np.array(theirs)) == pytest.approx(42.2, abs=0.05)
    assert npvi(np.array([0.25, 0.25, 0.25, 0.25, 1] * 2)) == pytest.approx(40.0, abs=0.01)
    assert npvi(np.array([2.0, 1, 2, 1])) == pytest.approx(66.67, abs=0.01)
    assert npvi(np.array([1.0, 3])) == 100
    assert npvi(np.array([2.0, 3])) == 40
    assert np.isnan(npvi(np.array([1.0])))


def test_the_written_rhythm_is_a_ratio_of_one() -> None:
    found = heard(DOTTED, Planted(ioi_noise=0.05)).one("rhythm_ratio", "R")
    assert found.low < 1 < found.high
    assert heard(DOTTED, Planted(ioi_noise=0.05)).one("rhythm_other").value == 0


def test_a_softened_dotted_rhythm_is_heard_as_such() -> None:
    found = heard(DOTTED, Planted(waits=stretched(DOTTED, 0.95, 1.15))).one("rhythm_ratio")
    assert found.value == pytest.approx(0.95 / 1.15, rel=1e-6)


@pytest.mark.parametrize("to_the_short", [0.1, 0.2, -0.1])  # quarters: softened twice, sharpened once
@pytest.mark.parametrize(("bar", "rhythm"), [
    (4, [0.5, 1.5]), (4, [0.5, 1.5, 1, 1]), (4, [1.5, 0.5, 0.5, 1.5]), (3, [1, 2]), (3, [2, 1]), (3, [1, 2, 2, 1]),
])  # fmt: skip
def test_long_is_told_over_short_whichever_comes_first(bar: float, rhythm: list[float], to_the_short: float) -> None:
    """Also where each pair across a bar line or a beat comes the other way round."""
    long, short = max(rhythm), min(rhythm)
    share = {long: (long - to_the_short) / long, short: (short + to_the_short) / short, 1.0: 1.0}
    if bar == 3:
        share[1.0] = 1 + to_the_short
    music = pattern(rhythm * 12, bar=bar)
    waits = {k + 1: share[length] for k, length in enumerate(rhythm * 12)}
    found = heard(music, Planted(ioi_noise=0.02, waits=waits)).one("rhythm_ratio")
    assert found.low <= share[long] / share[short] <= found.high
    assert (found.high < 1) == (to_the_short > 0) and (found.low > 1) == (to_the_short < 0)


@pytest.mark.parametrize(("first", "second"), [(8 / 9, 4 / 3), (2 / 3, 2.0)])  # 3:1 played as 2:1, as 1:1
def test_a_misread_rhythm_is_another_rhythm_and_no_unevenness(first: float, second: float) -> None:
    reading = heard(DOTTED, Planted(ioi_noise=0.04, waits=stretched(DOTTED, first, second)))
    assert reading.one("rhythm_other").value >= 10
    assert reading.one("rhythm_ratio").value == pytest.approx(first / second, abs=0.05)
    assert reading.one("waits").value == 0
    even = reading.one("evenness_timing", "R")
    assert even.value is None or even.verdict != "beyond"


@pytest.mark.parametrize("seed", range(4))
def test_a_dotted_note_misread_twice_is_another_rhythm(seed: int) -> None:
    music = pattern([1, 1, 1.5, 0.5, 1, 1, 1, 1, 1, 1, 1.5, 0.5, 1, 1, 1, 1])
    even = {3: 2 / 3, 4: 2.0, 11: 2 / 3, 12: 2.0}  # both played as two equal notes
    reading = heard(music, Planted(ioi_noise=0.04, waits=even), seed)
    assert [place.bars for place in reading.one("rhythm_other").places] == [(1, 1), (3, 3)]
    assert reading.one("waits").value == 0
    assert reading.one("evenness_timing", "R").verdict != "beyond"
    assert reading.one("evenness_timing", "R").value < 8  # 4 were planted; with the misreading left in it is 46


def test_two_pairs_that_only_scatter_are_no_other_rhythm() -> None:
    music = pattern([1, 1, 1.5, 0.5, 1, 1, 0.5, 0.5, 1, 1, 1.5, 0.5, 1, 1, 0.5, 0.5])
    rows = [heard(music, Planted(ioi_noise=0.15), seed).one("rhythm_other") for seed in range(60)]
    assert sum(row is not None and row.value > 0 for row in rows) <= 1


def test_swung_eighths_have_the_published_contrast() -> None:
    # published: pairs of 2:1 have an nPVI of 66.67
    reading = heard(EIGHTHS, Planted(waits=stretched(EIGHTHS, 4 / 3, 2 / 3)))
    swing = reading.one("swing", "R")
    assert swing.value == pytest.approx(2, rel=1e-6)
    assert npvi(np.array([swing.value, 1] * 8)) == pytest.approx(66.67, abs=0.01)
    assert reading.one("waits").value == 0
    assert heard(EIGHTHS).one("swing").value == pytest.approx(1)


def test_speed_key_and_loudness_change_nothing() -> None:
    plain = heard(DOTTED, Planted(ioi_noise=0.05)).one("rhythm_ratio").value
    moved = heard(DOTTED, Planted(ioi_noise=0.05, tempo_qpm=50, up=2, loudness=90)).one("rhythm_ratio").value
    assert moved == pytest.approx(plain)


def test_two_pairs_are_too_few_and_quarters_alone_are_no_question() -> None:
    assert "takes 3 pairs" in heard(pattern([1, 1, 1.5, 0.5, 1, 1, 1.5, 0.5])).one("rhythm_ratio").why_missing
    assert heard(pattern([1] * 12)).one("rhythm_ratio") is None


def test_noise_is_seldom_another_rhythm() -> None:
    assert sum(heard(DOTTED, Planted(ioi_noise=0.15), s).one("rhythm_other").value > 0 for s in range(100)) <= 5


def test_the_interval_holds_as_often_as_it_says() -> None:
    rows = [heard(DOTTED, Planted(ioi_noise=0.08), seed).one("rhythm_ratio") for seed in range(150)]
    assert 0.9 <= np.mean([row.low <= 1 <= row.high for row in rows]) <= 0.995
