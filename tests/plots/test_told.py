"""The shape in words, and the old shape behind the new one: what is seen is also said."""

from __future__ import annotations

import pytest

from fixtures.studio_for_pages import SCORES
from keysense.demo.performer import Playing, perform
from keysense.findings import look
from keysense.findings.reading import Reading
from keysense.messages import normalise
from keysense.plots.frame import Bounds
from keysense.plots.shapes import ALONE, UPRIGHT, shape_lines
from keysense.plots.told import loudness_word, shape_rows, shape_said
from keysense.plots.under import drawn_from
from keysense.targets import read_target


def heard(*loudness: tuple[float, float]) -> Reading:
    music = read_target(SCORES / "millers_cat_marked.musicxml")
    return look(normalise(perform(music, Playing(90, loudness, touch_spread=1.0, left_softer=0.0), 3)), music)


@pytest.mark.parametrize(
    ("velocity", "said"),
    [(1, "very soft"), (30, "soft"), (64, "between soft and loud"), (100, "loud"), (127, "very loud")],
)
def test_each_word_is_a_fifth_of_the_way(velocity: float, said: str) -> None:
    assert loudness_word(velocity, Bounds()) == said


def test_words_go_by_the_piano_and_stay_on_its_scale() -> None:
    narrow = Bounds(40.0, 80.0)
    assert loudness_word(60, narrow) == "between soft and loud"
    assert (loudness_word(10, narrow), loudness_word(120, narrow)) == ("very soft", "very loud")


def test_a_tune_that_grows_is_told_bar_by_bar_beside_how_it_was_before() -> None:
    soft, grown = heard((0, 30), (32, 30)), heard((0, 20), (32, 120))
    rows = shape_rows(drawn_from(grown, before=soft))
    assert [row[0] for row in rows] == [str(bar) for bar in range(1, 9)]
    assert {row[2] for row in rows} == {"soft"}
    order = ["very soft", "soft", "between soft and loud", "loud", "very loud"]
    steps = [order.index(row[1]) for row in rows]
    assert steps == sorted(steps) and steps[0] < steps[-1]
    assert all(len(row) == 2 for row in shape_rows(drawn_from(grown)))


def test_a_picture_is_named_by_what_is_seen_in_it() -> None:
    low_then_high = drawn_from(heard((0, 30), (15.9, 30), (16, 100), (32, 100)))
    assert shape_said(low_then_high, 0, 32) == "bars 1 to 4 soft, bars 5 to 8 loud"
    assert shape_said(low_then_high, 16, 32) == "bars 5 to 8 loud"
    (picture,) = shape_lines(low_then_high, "sleepy", ALONE)
    assert "bars 1 to 4 soft, bars 5 to 8 loud" in picture and "paper" not in picture.partition("</title>")[0]


@pytest.mark.parametrize("portrait", [False, True])
def test_the_old_shape_lies_behind_the_new_one_and_is_named(portrait: bool) -> None:
    soft, grown = heard((0, 30), (32, 30)), heard((0, 20), (32, 120))
    for picture in shape_lines(drawn_from(grown, before=soft), "sleepy", UPRIGHT if portrait else ALONE):
        assert picture.index('class="before"') < picture.index('class="thread"')
        assert "the faint outline behind is how it went before" in picture
    for picture in shape_lines(drawn_from(grown), "sleepy", UPRIGHT if portrait else ALONE):
        assert 'class="before"' not in picture and "before" not in picture
