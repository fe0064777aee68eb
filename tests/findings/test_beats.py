"""Rhythm in bars whose beat is three eighths, and eighths that are swung."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from fixtures.make.listening import heard
from fixtures.make.music import pattern
from fixtures.make.player import Planted
from keysense.findings import look
from keysense.notes import Take
from keysense.targets.target import Target
from keysense.words import say_for_teacher

# bar in quarters, its rhythm, and the same played as notes of equal length: each step's share of its written length
MISREAD = {
    "6/8": (3.0, [1, 0.5, 1, 0.5], [0.75, 1.5, 0.75, 1.5]),
    "9/8": (4.5, [1, 0.5, 1, 0.5, 1.5], [0.75, 1.5, 0.75, 1.5, 1]),
    "3/8": (1.5, [0.75, 0.25, 0.5], [2 / 3, 2, 1]),
}
SIXES = [0.5] * 6 + [1.5, 1.5]  # two bars of six eighths


@pytest.mark.parametrize("meter", MISREAD)
def test_a_rhythm_on_three_eighths_is_heard_in_every_bar(meter: str) -> None:
    bar, rhythm, shares = MISREAD[meter]
    music = pattern(rhythm * 12, bar=bar)
    right = heard(music, Planted(ioi_noise=0.04))
    assert right.one("rhythm_other").value == 0
    ratio = right.one("rhythm_ratio")
    assert ratio.low < 1 < ratio.high
    assert ratio.n >= 11 * shares.count(shares[0])  # each bar's pairs, the last bar's perhaps not
    wrong = heard(music, Planted(ioi_noise=0.04, waits=dict(enumerate(shares * 12, start=1))))
    assert wrong.one("rhythm_other").value == ratio.n
    assert wrong.one("rhythm_ratio").value == pytest.approx(shares[0] / shares[1], abs=0.03)
    assert wrong.one("waits").value == 0
    even = wrong.one("evenness_timing", "R")
    assert even.value is None or even.value < 8  # 4 were planted


def test_eighths_in_threes_are_no_pairs() -> None:
    assert heard(pattern(SIXES * 6, bar=3), Planted(ioi_noise=0.04)).one("swing") is None
    assert heard(pattern([0.5] * 48, bar=3)).one("swing") is None  # three beats or two: the page does not tell
    three_four = pattern([1, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 1, 1] * 6, bar=3)  # a quarter on the second beat tells
    assert heard(three_four).one("swing").n == 18


def test_pairs_are_counted_from_an_upbeat() -> None:
    upbeat = [0.5, *[1, 0.5, 1, 0.5] * 8, 1, 0.5, 1]  # the last bar is short by the upbeat
    music = pattern(upbeat, bar=3)
    starts = np.append(0.0, np.arange(0.5, sum(upbeat), 3))
    assert heard(replace(music, bar_starts=starts), Planted(ioi_noise=0.04)).one("rhythm_ratio").n >= 15


@pytest.mark.parametrize("ratio", [1.25, 1.5, 2.0, 0.6])
def test_regular_swing_is_taken_out_before_evenness_tempo_drift_and_waits(ratio: float) -> None:
    long = 2 * ratio / (1 + ratio)
    music = pattern([0.5] * 64).with_phrases((0, 16), (16, 36))
    swung = {k + 1: (long, 2 - long)[k % 2] for k in range(64)}
    found = heard(music, Planted(ioi_noise=0.04, tempo_qpm=84, waits=swung))
    assert found.one("swing").value == pytest.approx(ratio, rel=0.05)
    even = found.one("evenness_timing", "R")
    assert even.low < 4 < even.high
    assert even.verdict == found.one("drift").verdict == "within"
    assert found.one("tempo").low < 84 < found.one("tempo").high < 87
    # the spread of a run is that of its plain steps, a limp and all: of two lengths alone it is half their distance
    assert all(row.value > 100 * abs(long - 1) - 3 for row in found.named("cv_ioi"))
    assert "beside their swing" in say_for_teacher(even)
    assert found.one("waits").value == found.one("rhythm_other").value == 0


@pytest.mark.parametrize("seed", range(4))
def test_half_of_the_pairs_straight_and_half_with_a_wait_are_no_swing(seed: int) -> None:
    music = pattern([0.5] * 96)
    waits = dict.fromkeys(range(4, 96, 4), 1.4)  # before the first and the third beat of each bar
    found = heard(music, Planted(ioi_noise=0.06, waits=waits), seed)
    swing, even = found.one("swing"), found.one("evenness_timing", "R")
    assert swing.value is None and "not alike" in swing.why_missing and swing.n == 48
    planted = 100 * (0.06**2 + math.log(1.4) ** 2 * 3 / 16) ** 0.5  # a quarter of the steps has a wait
    assert even.verdict == "beyond" and even.low < planted < even.high


def test_dotted_notes_swing_with_the_eighths_and_a_wait_stays_a_wait() -> None:
    later = 1 / 6  # quarters: two to one
    bar = [0.5, 0.5, 1.5, 0.5, 0.5, 0.5]
    off = [later, -later, later, -later, later, -later]
    waits = {k + 1: 1 + off[k % 6] / bar[k % 6] for k in range(60)}
    found = heard(pattern(bar * 10), Planted(ioi_noise=0.03, waits={**waits, 26: waits[26] * 2}))
    assert found.one("waits").value == 1
    assert found.one("evenness_timing", "R").value < 5


def test_eighths_played_as_dotted_ones_are_another_rhythm() -> None:
    found = heard(pattern([0.5] * 32), Planted(waits={k + 1: (1.5, 0.5)[k % 2] for k in range(32)}))
    assert found.one("swing").value == pytest.approx(3, rel=1e-6)
    assert found.one("rhythm_other").value >= 10


def test_hands_apart_are_no_swing_and_the_spread_of_the_pulse_keeps_both() -> None:
    """Left on the beat, right off it: a late left hand makes short and long steps in turn, and nobody swings."""
    quarter = np.arange(64) / 2
    left = quarter % 1 == 0
    target = Target.from_notes(
        onset_quarter=quarter, duration_quarter=np.full(64, 0.5),
        pitch=np.where(left, 48, 67 + quarter.astype(int) % 5), hand=np.where(left, "L", "R"), tempo_qpm=100,
    )  # fmt: skip
    onset_s = 0.6 * quarter + np.where(left, 0.06, 0.0) + np.random.default_rng(1).normal(0, 0.01, 64)
    take = Take.from_notes(onset_s=onset_s, release_s=onset_s + 0.2, pitch=target.notes["pitch"], velocity=[60] * 64)
    period_s = np.diff(onset_s) / np.diff(quarter)
    middle = np.median(period_s)
    spread = 1.4826 * np.median(np.abs(period_s - middle)) / middle
    assert look(take, target).one("period_spread").value == pytest.approx(100 * spread, rel=1e-6)
    swung = heard(pattern([0.5] * 64), Planted(waits={k: (1.2, 0.8)[k % 2] for k in range(64)}))
    assert swung.one("swing").value != pytest.approx(1, abs=0.2)
    assert swung.one("period_spread").value > 10  # without its swing it would be exact
