"""Notes held as their marks ask, counted."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.make.listening import heard
from fixtures.make.music import Marked, Music, five_fingers
from fixtures.make.player import Planted, play
from keysense.findings import Reading, look

DOTS = five_fingers(4).with_marks(Marked("staccato", 8, 24, "t1", "R"))
LINES = five_fingers(4).with_marks(Marked("tenuto", 8, 24, "t1", "R"))


@pytest.mark.parametrize(("hold", "dots", "lines"), [(0.4, 16, 0), (1.0, 0, 16)])
def test_published_staccato_is_as_written_and_a_held_note_is_not(hold: float, dots: int, lines: int) -> None:
    # published: staccato is held for about 40 % of the step (Bresin & Battel 2000)
    for music, expected in ((DOTS, dots), (LINES, lines)):
        reading = heard(music, Planted(hold=hold))
        assert reading.one("articulated_as_written", "R").value == expected
        otherwise = reading.one("articulated_otherwise", "R")
        assert otherwise.value == 16 - expected == len(otherwise.places)
        assert otherwise.n == 16


def test_each_note_that_is_otherwise_has_its_place() -> None:
    reading = heard(DOTS, Planted(hold=0.7, hold_noise=0.1), 3)
    otherwise = reading.one("articulated_otherwise")
    assert 0 < otherwise.value < 16
    assert all(place.mark and place.bars for place in otherwise.places)
    assert otherwise.value + reading.one("articulated_as_written").value == 16


def test_a_page_without_such_marks_has_no_such_count() -> None:
    assert heard(five_fingers(4)).one("articulated_as_written") is None


def rested(*marks: Marked) -> Music:
    """Quarters with a quarter's rest after each; after each third one where slurs stand."""
    onset = np.array([2.0 * k for k in range(24)]) if marks[0].kind != "slur" else np.array(
        [4.0 * bar + beat for bar in range(8) for beat in range(3)])  # fmt: skip
    ones = np.ones(24)
    bars = np.arange(0, onset[-1] + 4, 4.0)
    return Music("Rests", onset, ones, np.arange(24) % 5 + 60, ("R",) * 24, bars).with_marks(*marks)


def held_before_rests(music: Music, share: float, notes: tuple[int, ...]) -> Reading:
    """Some notes held for a share of a quarter, whatever follows."""
    played = play(music, Planted(tempo_qpm=60, ioi_noise=0.01), 1)
    for row in notes:
        played.release_s[row] = played.onset_s[row] + share
    return look(played.take(), music.target(), following=played.following())


@pytest.mark.parametrize("share", [0.4, 0.9, 1.6])
def test_dots_and_lines_before_rests_are_held_against_the_note_itself(share: float) -> None:
    for kind, as_asked in (("staccato", share < 0.75), ("tenuto", 0.75 <= share < 1.5)):
        reading = held_before_rests(rested(Marked(kind, 0, 48, "t1", "R")), share, tuple(range(24)))
        assert reading.one("hold_ratio").value == pytest.approx(share, abs=0.02)
        assert reading.one("articulated_as_written").value == (23 if as_asked else 0)


@pytest.mark.parametrize("share", [0.6, 1.0, 1.8])
def test_a_slur_that_ends_before_a_rest_is_let_go_or_held_on_into_it(share: float) -> None:
    slurs = [Marked("slur", 4 * bar, 4 * bar + 2, f"s{bar}", "R") for bar in range(8)]
    reading = held_before_rests(rested(*slurs), share, tuple(range(2, 24, 3)))
    assert reading.one("slur_end").value == pytest.approx(1 - share, abs=0.03)
