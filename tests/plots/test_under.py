"""What stands under the music: at its notehead, through endings and pick-ups, once."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

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


def loudness_of(**how: object) -> str:
    reading = heard("millers_cat_marked", **how)
    system = engrave(reading.target, width=1440).systems[0]
    return loudness_under(drawn_from(reading, reading.target.marks), system, 1.0)


def test_each_hand_has_a_strip_of_its_own_and_neither_hides_the_other() -> None:
    right, left = (
        [float(y) for y in re.findall(r'cy="([\d.]+)"', part.split("</g>")[0])]
        for part in loudness_of().split("<g data-hand=")[1:]
    )
    assert right and left and max(right) < min(left)


def test_a_note_let_go_is_a_cut_in_the_thread_and_the_thread_goes_on_beside_it() -> None:
    joined, apart = loudness_of(hold=1.0), loudness_of(hold=0.4)
    assert apart.count('class="thread"') > 3 * joined.count('class="thread"')
    pieces = re.findall(r'class="thread" d="([^"]*)"', apart)
    ends = sorted([float(x) for x in re.findall(r"[ML]([\d.]+) ", piece)] for piece in pieces)
    gaps = [max(a) - min(b) for a, b in pairwise(ends)]
    assert sum(-30 < gap < 0 for gap in gaps) >= 0.7 * len(gaps)  # a quarter is 80 wide


def test_a_hairpin_for_both_hands_has_its_paper_under_each() -> None:
    reading = heard("millers_cat_marked")
    grows = next(mark for mark in reading.target.marks if mark.kind == "crescendo")
    asked = ([replace(grows, hand="R")], [replace(grows, hand="")])
    assert [{wedge.hand for wedge in drawn_from(reading, marks).wedges} for marks in asked] == [{"R"}, {"L", "R"}]
