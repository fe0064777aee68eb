"""One pulse of two hands: one alone is looked at whole, and two that are apart make no waits and no other pace."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.make.listening import heard
from fixtures.make.music import Music
from fixtures.make.player import Planted

BARS = 8


def over_eighths() -> Music:
    """A tune of quarters, a half note at the end of every other bar, over broken chords in eighths; four phrases."""
    tune = [(4.0 * bar + beat, 2.0 if bar % 2 and beat == 2 else 1.0, "R", 64 + (3 * bar + 2 * int(beat)) % 9)
            for bar in range(BARS) for beat in ((0.0, 1.0, 2.0) if bar % 2 else (0.0, 1.0, 2.0, 3.0))]  # fmt: skip
    chords = [(k / 2, 0.5, "L", 48 + (0, 7, 4, 7)[k % 4]) for k in range(8 * BARS)]
    onset, length, hand, pitch = zip(*sorted([*tune, *chords]), strict=True)
    music = Music("Over eighths", np.array(onset), np.array(length), np.array(pitch), hand, np.arange(BARS) * 4.0)
    return music.with_phrases(*((8.0 * k, 8.0 * k + 8) for k in range(BARS // 2)))


PAGE = over_eighths()
TUNE = [row for row, hand in enumerate(PAGE.hand) if hand == "R"]


def test_a_hand_that_practises_alone_is_looked_at_from_note_to_note() -> None:
    row = TUNE[9]
    alone = heard(PAGE, Planted(only="R", ioi_noise=0.03, waits={row: 2.5}))
    assert alone.one("waits").n == len(TUNE) - 1
    assert [place.mark for place in alone.one("waits").places] == [str(alone.target.notes["id"][row])]
    assert alone.one("tempo").n > 0.7 * len(TUNE)


def test_its_breaths_are_heard_though_the_other_hand_is_written_through_them() -> None:
    # planted on the last eighth that is written before each phrase: six tenths of the half note that the tune has there
    found = heard(PAGE, Planted(only="R", ioi_noise=0.03, breath_time=2.4)).one("breath")
    assert (found.value, found.n) == (3, 3)


def test_a_hand_that_drops_out_half_way_leaves_nothing_out_of_the_other_ones_steps() -> None:
    gone = tuple(row for row, hand in enumerate(PAGE.hand) if hand == "L" and PAGE.onset[row] >= 16)
    late = next(row for row in TUNE if PAGE.onset[row] == 25)
    found = heard(PAGE, Planted(ioi_noise=0.03, left_out=gone, waits={late: 2.5})).one("waits")
    assert [place.bars for place in found.places] == [(7, 7)]


@pytest.mark.parametrize("lag_s", [-0.15, 0.15])
def test_hands_apart_have_the_pace_they_have_and_nobody_waits(lag_s: float) -> None:
    for seed in range(4):
        found = heard(PAGE, Planted(tempo_qpm=100, ioi_noise=0.03, lag_s=lag_s), seed)
        assert found.one("tempo").value == pytest.approx(100, rel=0.015)
        assert found.one("waits").value == 0
        assert found.one("hands_lag").value == pytest.approx(1000 * lag_s, abs=5)
