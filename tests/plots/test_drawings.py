"""Drawings: well-formed, named in words, on one fixed scale, and true to what was heard."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from defusedxml.ElementTree import fromstring
from hypothesis import given
from hypothesis import strategies as st

from keysense.finding import Finding, Limit
from keysense.notes import Take
from keysense.plots.curve import smooth
from keysense.plots.drawing import thread_drawing
from keysense.plots.frame import Bounds, Frame, HandLine, Piece, Wedge
from keysense.plots.lane import Heard, heard_lane
from keysense.plots.loudness import loudness_picture
from keysense.plots.ranges import likely_range, two_ranges
from keysense.plots.shapes import bars_on_a_line
from keysense.plots.signs import choice, head_thread, key_sign, outcome_sign
from keysense.plots.thread import ribbon, snipped, unplied
from keysense.plots.weeks import Week, weeks_picture

OUTCOMES = (
    "asked and heard", "asked, not yet heard", "asked, the other way came", "heard, not asked", "can't tell yet",
)  # fmt: skip


def frame(**changes: object) -> Frame:
    kept = {"width": 1000.0, "height": 170.0, "x_of": lambda q: 20 + 30 * np.asarray(q), "spans": ((0.0, 32.0),)}
    return Frame(**{**kept, **changes})  # type: ignore[arg-type]


def line(*velocities: float, hand: str = "R") -> HandLine:
    position = np.arange(len(velocities) + 1.0)
    heights = np.array([*velocities, velocities[-1]], float)
    return HandLine(hand, (Piece(position, heights),), position[:-1], heights[:-1])


def title(drawing: str) -> str:
    said = fromstring(drawing).find("title")
    assert said is not None and said.text
    return str(said.text)


@given(
    st.lists(st.floats(0, 127), min_size=2, max_size=12),
    st.lists(st.floats(0.1, 5), min_size=12, max_size=12),
)
def test_the_line_never_swings_past_what_was_played(heights: list[float], steps: list[float]) -> None:
    x, y = np.cumsum(steps[: len(heights)]), np.array(heights)
    drawn = smooth(x, y, np.linspace(x[0], x[-1], 200))
    assert drawn.min() >= y.min() - 1e-6 and drawn.max() <= y.max() + 1e-6


@pytest.mark.parametrize("outcome", OUTCOMES)
def test_outcome_signs_differ_in_form_and_are_hidden_from_screen_readers(outcome: str) -> None:
    drawn = outcome_sign(outcome)
    fromstring(drawn)
    assert 'aria-hidden="true"' in drawn
    assert len({outcome_sign(other) for other in OUTCOMES}) == len(OUTCOMES)


def test_paper_stands_only_for_what_was_asked() -> None:
    assert "paper" in outcome_sign("asked, not yet heard") and "thread" not in outcome_sign("asked, not yet heard")
    assert "paper" not in outcome_sign("heard, not asked")


@pytest.mark.parametrize(
    "name", ["other", "wait", "gap", "extra", "unsure", "right", "left", "apart", "asked", "spindle"]
)
def test_every_sign_of_the_key_is_well_formed(name: str) -> None:
    fromstring(key_sign(name))


def test_choices_and_heads_are_well_formed() -> None:
    names = ("middle", "end", "same", "first", "second", "alike")
    assert len({choice(name) for name in names}) == len(names)
    assert head_thread("plain") == "" and head_thread("listening") != head_thread("cut")


def test_colours_are_never_written_into_a_drawing() -> None:
    drawn = loudness_picture([line(40, 60, 80)], frame(), "x") + outcome_sign("asked and heard")
    assert not re.search(r"#[0-9a-fA-F]{3,6}|rgb\(|fill=", drawn)


def test_the_height_of_a_loudness_depends_on_the_piano_alone() -> None:
    alone, beside = frame(), frame()
    assert alone.y(64.0) == beside.y(64.0)
    soft = loudness_picture([line(30, 34, 30)], frame(), "soft")
    dots = [float(y) for y in re.findall(r'class="dot faint" cx="[\d.]+" cy="([\d.]+)"', soft)]
    assert min(dots) > 110  # a soft take stays low on a picture 170 high: it is not stretched to fill it


def test_louder_is_thicker() -> None:
    thin, thick = frame().thickness(np.array([20.0])), frame().thickness(np.array([110.0]))
    assert 0 < thin[0] < thick[0] <= frame().thick


def test_the_thread_swells_from_its_thinnest_to_its_widest_over_the_touch_of_this_piano() -> None:
    here = replace(frame(), bounds=Bounds(30.0, 100.0), thin=4.0, thick=30.0)
    assert here.thickness(np.array([10.0, 30.0, 100.0, 127.0])).tolist() == [4.0, 4.0, 30.0, 30.0]
    quarter, middle = here.thickness(np.array([47.5, 65.0]))
    assert 1.5 * quarter < middle  # what pupils play lies about the middle: there it must be seen


def test_where_a_thread_breaks_the_break_is_seen() -> None:
    at = np.array([0.0, 4.0, 8.0])
    pieces, here = tuple(Piece(at + start, np.full(3, 100.0)) for start in (0.0, 8.0)), frame()
    drawn = loudness_picture([HandLine("R", pieces, at, np.full(3, 100.0))], here, "x")
    edges = [d.split("A")[0].split() for d in re.findall(r'class="thread" d="M([^"]*)', drawn)]
    (first, second), round_end = (
        [[float(x) for x in edge[::2]] for edge in edges],
        float(here.thickness(np.array([100.0]))[0]) / 2,
    )
    assert max(first) + round_end < min(second) - round_end


def test_the_left_hand_is_hollow_and_the_right_hand_solid() -> None:
    drawn = loudness_picture([line(60, 60, hand="L")], frame(), "x")
    assert 'class="core"' in drawn and 'class="thread"' not in drawn
    assert 'class="thread"' in loudness_picture([line(60, 60)], frame(), "x")


def test_a_hairpin_begins_where_the_thread_was() -> None:
    here = frame()
    drawn = loudness_picture([], here, "x", wedges=[Wedge(4.0, 8.0, 50.0, True)])
    numbers = [float(n) for n in re.findall(r"[\d.]+", drawn.split('class="paper" d="')[1])]
    upper, lower = numbers[1], numbers[-1]
    assert abs((upper + lower) / 2 - float(here.y(50.0))) < 1.0


def test_a_picture_cut_in_two_shows_each_piece_once() -> None:
    whole = line(*range(40, 72))
    left = loudness_picture([whole], frame(spans=((0.0, 16.0),)), "x")
    right = loudness_picture([whole], frame(spans=((16.0, 32.0),)), "x")
    assert left.count("dot faint") == right.count("dot faint") == 16


def test_lane_marks_say_what_they_mean_and_stand_at_their_notehead() -> None:
    marks = [Heard("other", 300, "R", "bar 2, right hand: another note sounded, E", "E"), Heard("gap", 600, "L", "b")]
    root = fromstring(heard_lane(marks, 1440, "What was heard"))
    said = [node.text for node in root.iter("title")]
    assert said == ["What was heard", "bar 2, right hand: another note sounded, E", "b"]


def test_words_from_people_cannot_break_a_drawing() -> None:
    drawn = heard_lane([Heard("other", 300, "R", 'a "b" <c> & d', "<")], 900, '<script>alert("x")</script>')
    assert title(drawn) == '<script>alert("x")</script>'


def test_a_likely_range_shows_what_was_asked_as_paper() -> None:
    asked = Finding("rise", 26, "velocity", 7, 14, 38, Limit(8, "min"))
    assert "paper" in likely_range(asked, "x", asked=True)
    assert "paper" not in likely_range(asked, "x", asked=False)
    assert "paper" not in likely_range(Finding("rise", 26, "velocity", 7, 14, 38), "x", asked=True)


def test_a_missing_figure_draws_no_range() -> None:
    gone = Finding.missing("tempo", "quarters/min", "three notes are too few")
    assert likely_range(gone, "x", asked=True) == "" and two_ranges("tempo", gone, gone, "x") == ""
    assert two_ranges("tempo", gone, Finding("tempo", 80, "quarters/min", 20, 76, 84), "x").count("<path") == 3


def test_values_off_the_line_stay_at_its_end() -> None:
    drawn = likely_range(Finding("tempo", 400, "quarters/min", 20, 390, 410), "x", asked=True)
    assert max(float(n) for n in re.findall(r"[\d.]+", drawn.split('class="thread"')[1].split("/>")[0])) <= 292


def test_weeks_show_gaps_and_cuts() -> None:
    weeks = [Week("September", 13.8, 10.2, 19.6, "a", old_piano=True), Week("", None, None, None, "no lesson"),
             Week("October", 9.0, 7.0, 12.0, "b", cut_before=True)]  # fmt: skip
    drawn = weeks_picture(weeks, (4, 22), ("even", "less so"), "x")
    assert drawn.count('class="thread"') == 2 and "bead open" in drawn and "mark quiet" in drawn
    assert drawn.count('class="ground"') == 1


def test_months_stand_under_their_first_weeks_and_never_on_each_other() -> None:
    names = ["September", "October", "", "", "", "", "November", "", ""]
    weeks = [Week(name, 10.0, 8.0, 12.0, "a") for name in names]
    drawn = fromstring(weeks_picture(weeks, (4, 22), ("even", "less so"), "x", width=390, left=78, size=19.5))
    placed = {node.text: (float(node.get("x", 0)), float(node.get("y", 0))) for node in drawn.iter("text")}
    at = [78 + 40 + (390 - 78 - 80) / 8 * week for week in range(9)]
    months = [placed[name][0] for name in ("September", "October", "November")]
    assert months == pytest.approx([at[0], at[1], at[6]], abs=1)
    assert placed["October"][1] > placed["September"][1] + 19  # they would meet: a row of its own


def test_more_even_is_higher() -> None:
    def dot(value: float) -> float:
        drawn = weeks_picture([Week("1", value, None, None, "a")], (4, 22), ("even", "less so"), "x")
        return float(re.findall(r'cy="([\d.]+)"', drawn)[0])

    assert dot(6.0) < dot(18.0)


def take(held: float, *, velocity: int = 64) -> Take:
    onset = np.arange(8) * 0.5
    return Take.from_notes(
        onset_s=onset, release_s=onset + 0.5 * held, pitch=60 + np.arange(8), velocity=[velocity] * 8
    )


def test_a_joined_tune_is_one_thread_and_an_apart_one_is_cut_at_every_note() -> None:
    assert thread_drawing(take(1.0), "x").count('class="thread"') == 1
    assert thread_drawing(take(0.4), "x").count('class="thread"') == 8


def test_notes_too_close_for_a_thread_with_edges_are_drawn_in_round_strokes_as_thick_as_they_were_loud() -> None:
    n = 204
    onset_s = np.arange(n) * 0.4
    velocity = np.where(np.arange(n) < n // 2, 30, 110)
    pitch = 66 + 5 * (np.arange(n) % 2)
    close = Take.from_notes(onset_s=onset_s, release_s=onset_s + 0.4, pitch=pitch, velocity=velocity)
    drawn = thread_drawing(close, "long")
    widths = [float(found) for found in re.findall(r'class="line" style="stroke-width:([\d.]+)"', drawn)]
    assert 'class="thread"' not in drawn and widths == sorted(widths)
    assert widths[-1] / widths[0] == pytest.approx((2.5 + 11.5 * 110 / 127) / (2.5 + 11.5 * 30 / 127), rel=0.1)


def test_an_empty_take_and_one_note_can_be_drawn() -> None:
    assert (
        title(thread_drawing(Take.from_notes(onset_s=[], release_s=[], pitch=[], velocity=[]), "nothing")) == "nothing"
    )
    one = Take.from_notes(onset_s=[0], release_s=[0.1], pitch=[60], velocity=[64])
    assert 'class="thread"' in thread_drawing(one, "one")


@pytest.mark.parametrize(
    ("bars", "most", "on_a_line"), [(16, 8, 8), (12, 8, 8), (17, 8, 6), (9, 8, 5), (3, 8, 8), (5, 4, 3)]
)
def test_no_line_of_a_picture_holds_a_lonely_bar(bars: int, most: int, on_a_line: int) -> None:
    assert bars_on_a_line(bars, most) == on_a_line


def test_threads_have_no_holes_in_their_numbers() -> None:
    x, y, width = np.array([0.0, 30, 60]), np.array([10.0, 5, 10]), np.array([8.0, 12, 8])
    for drawn in (ribbon(x, y, width), snipped(x, y, width), unplied(x, y)):
        assert "nan" not in drawn and "inf" not in drawn
