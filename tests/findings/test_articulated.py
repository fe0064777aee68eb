"""Notes held as their marks ask, counted."""

from __future__ import annotations

import pytest

from fixtures.make.listening import heard
from fixtures.make.music import Marked, five_fingers
from fixtures.make.player import Planted

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
