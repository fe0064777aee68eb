"""Where the playing went the way that was drawn: moves only, whatever the height; nothing where nothing was."""

from __future__ import annotations

import numpy as np
import pytest

from keysense.comparing.wishes import drawn_in_bars, went_your_way
from keysense.targets.target import BAR

NUMBERS = np.arange(1, 9)
HILL = np.array([0.2, 0.2, 0.2, 0.4, 0.6, 0.8, 0.5, 0.2])
PLAYED = np.array([50.0, 51.0, 50.0, 60.0, 70.0, 80.0, 70.0, 55.0])


def runs(drawn, played, step=5.0):
    heights, velocities = np.asarray(drawn, float), np.asarray(played, float)
    found = went_your_way(heights, velocities, NUMBERS, step_velocity=step, drawn_step=1 / 12)
    return [(run.way, run.first_bar, run.last_bar) for run in found]


def test_a_hill_that_was_played_is_found_on_both_sides():
    assert runs(HILL, PLAYED) == [("up", 3, 6), ("down", 6, 8)]


def test_the_height_of_either_does_not_matter():
    assert runs(HILL * 0.6 + 0.3, PLAYED - 30) == runs(HILL, PLAYED)


def test_a_level_take_went_another_way_than_a_hill():
    assert runs(HILL, np.full(8, 60.0)) == []
    assert runs(HILL, PLAYED[::-1]) == []


def test_a_level_line_that_was_kept_is_told_and_a_level_stretch_beside_a_hill_is_not():
    assert runs(np.full(8, 0.5), 60 + 3 * np.array([0, 1, 0, 1, 0, 1, 0, 1])) == [("level", 1, 8)]
    assert ("level", 1, 3) not in runs(HILL, PLAYED)


def test_bars_without_a_line_or_without_sound_tell_nothing():
    assert runs([np.nan] * 8, PLAYED) == []
    assert runs(HILL, [np.nan] * 8) == []
    assert runs(HILL, [50, 51, 50, 60, np.nan, 80, 70, 55]) == [("up", 3, 4), ("down", 6, 8)]


@pytest.mark.parametrize("step", [5.0, 12.0])
def test_a_move_smaller_than_the_step_is_none(step):
    assert (runs(HILL, PLAYED, step) == runs(HILL, PLAYED)) == (step == 5.0)


def test_a_drawn_line_is_read_bar_by_bar_and_only_where_it_reaches():
    bars = np.zeros(4, BAR)
    bars["number"], bars["start_quarter"], bars["length_quarter"] = [1, 2, 3, 4], [0, 4, 8, 12], 4
    means = drawn_in_bars(np.array([0.0, 1.0]), (0.0, 8.0), bars)
    assert means[:2] == pytest.approx([0.25, 0.75])
    assert np.isnan(means[2:]).all()
