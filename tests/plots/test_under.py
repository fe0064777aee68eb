"""What stands under the music: at its notehead, through endings and pick-ups, once."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.studio_for_pages import SCORES
from keysense.demo.performer import Playing, perform
from keysense.engraving import engrave
from keysense.findings import Reading, look
from keysense.messages import normalise
from keysense.plots.under import drawn_from, lane_under, loudness_under, runs_of
from keysense.targets import read_target


def heard(name: str, **how: object) -> Reading:
    target = read_target(SCORES / f"{name}.musicxml")
    playing = Playing(90, [(0, 50), (60, 90)], **how)  # type: ignore[arg-type]
    return look(normalise(perform(target, playing, 3)), target)


def test_second_endings_are_drawn_where_they_stand_and_repeated_bars_once() -> None:
    reading = heard("endings")
    written = sorted({int(number) for number in reading.target.bars["number"]})
    runs = runs_of(reading.target, written)
    lengths = {int(bar["number"]): float(bar["length_quarter"]) for bar in reading.target.bars}
    assert len(runs) == 2 and runs[-1].last_bar == written[-1]
    assert sum(end - start for start, end in (run.span for run in runs)) == pytest.approx(sum(lengths.values()))


@pytest.mark.parametrize("name", ["millers_cat_marked", "endings", "pick_up", "grace_notes", "rests", "two_repeats"])
def test_every_dot_stands_under_a_notehead_of_its_line(name: str) -> None:
    reading = heard(name)
    drawn = drawn_from(reading, reading.target.marks)
    for system in engrave(reading.target, width=1440).systems:
        svg = loudness_under(drawn, system, 1.0)
        heads = np.array(sorted(system.note_x.values()))
        dots = [
            float(x) for x in np.array(svg.split('class="dot faint" cx="')[1:], dtype=object) for x in [x.split('"')[0]]
        ]
        assert dots
        assert max(float(np.abs(heads - x).min()) for x in dots) < 16  # a second in one hand stands a head aside


def test_a_mark_is_drawn_once_though_its_bar_is_played_twice() -> None:
    reading = heard("repeat", other={1: 61})
    drawn = drawn_from(reading)
    lanes = "".join(lane_under(drawn, system, 1.0) for system in engrave(reading.target, width=900).systems)
    assert 1 <= lanes.count('class="tab"') <= 2
    assert "nan" not in lanes
