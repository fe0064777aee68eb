"""The tempo line: a planted change is seen, neither speed nor key matters, too little tells nothing."""

from __future__ import annotations

import re

import numpy as np
import pytest

from fixtures.studio_for_pages import SCORES
from keysense.demo.performer import Playing, perform
from keysense.engraving import engrave
from keysense.findings import Reading, look
from keysense.messages import normalise
from keysense.notes import Take
from keysense.plots.tempo import Pace, pace_of, pace_rows, two_paces
from keysense.plots.under import drawn_from, pace_under
from keysense.targets import read_target


def heard(name: str = "up_and_down_the_stairs", **how: object) -> Reading:
    target = read_target(SCORES / f"{name}.musicxml")
    playing = Playing(100, [(0, 60), (60, 60)], **how)  # type: ignore[arg-type]
    return look(normalise(perform(target, playing, 3)), target)


def stretched(reading: Reading, by: object, pitch: int = 0) -> Reading:
    """The same take with its clock changed: ``by`` maps seconds to seconds."""
    notes = reading.take.notes
    take = Take.from_notes(
        onset_s=by(notes["onset_s"]), release_s=by(notes["release_s"]),  # type: ignore[operator]
        pitch=notes["pitch"] + pitch, velocity=notes["velocity"],
    )  # fmt: skip
    return look(take, reading.target)


def test_a_planted_slowing_of_the_second_half_is_seen_in_every_bar() -> None:
    steady = heard(unsteady=0.0)
    middle = float(np.median(steady.take.notes["onset_s"]))
    slower = stretched(steady, lambda t: np.where(t > middle, middle + 1.5 * (t - middle), t))
    rows = pace_rows(slower, pace_of(slower))
    assert len(rows) == len(slower.target.bars)
    first, last = float(rows[0][1]), float(rows[-2][1])
    assert first / last == pytest.approx(1.5, rel=0.06)


def test_a_steady_take_keeps_its_own_pace_and_neither_speed_nor_key_matters() -> None:
    steady = heard(unsteady=0.0)
    told = [row[2] for row in pace_rows(steady, pace_of(steady))]
    assert set(told[:-1]) == {"about the same"} and told[-1] == "–"  # one long note ends the tune: no step leads on
    other = pace_of(stretched(steady, lambda t: 2.0 * t, pitch=5))
    assert np.allclose(other.height, pace_of(steady).height, atol=0.02)


def test_too_little_draws_no_line() -> None:
    whole = heard()
    few = whole.take.notes[:4]
    take = Take.from_notes(
        onset_s=few["onset_s"], release_s=few["release_s"], pitch=few["pitch"], velocity=few["velocity"]
    )
    short = look(take, whole.target)
    assert pace_of(short).usual_s is None
    system = engrave(short.target, width=1440).systems[0]
    assert pace_under(drawn_from(short), system, 1.0) == ""


@pytest.mark.parametrize("name", ["millers_cat_marked", "endings", "pick_up", "rests", "repeat"])
def test_every_step_begins_under_a_notehead_of_its_line(name: str) -> None:
    reading = heard(name)
    drawn = drawn_from(reading)
    for system in engrave(reading.target, width=1440).systems:
        svg = pace_under(drawn, system, 1.0)
        heads = np.array(sorted(system.note_x.values()))
        dots = [float(x) for x in re.findall(r'class="dot faint" cx="([\d.]+)"', svg)]
        assert dots and "nan" not in svg
        assert max(float(np.abs(heads - x).min()) for x in dots) < 16


def test_of_two_takes_the_quicker_lies_above_by_as_much_as_it_was_quicker() -> None:
    slow = heard(unsteady=0.0)
    quick = stretched(slow, lambda t: t / 1.4)
    svg = two_paces(pace_of(slow), pace_of(quick), (0.0, 32.0), [4.0], "both")
    lines = re.findall(r'class="line[^"]*twopaces[^"]*"[^>]* d="M[\d.]+[ ,]([\d.]+)', svg)
    below, above = (float(y) for y in lines)
    assert (below - above) / (150 - 28) == pytest.approx(np.log(1.4) / np.log(4.0), rel=0.08)
    assert two_paces(pace_of(slow), Pace(*(np.zeros(0) for _ in range(4)), None), (0.0, 32.0), [], "x") == ""


def test_the_line_says_in_words_what_it_is() -> None:
    reading = heard()
    system = engrave(reading.target, width=1440).systems[0]
    assert "quicker than this take as a whole" in pace_under(drawn_from(reading), system, 1.0)
