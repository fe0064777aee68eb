"""Findings in words: every way one can go, every reason why it cannot be known, nothing forbidden to a child."""

from __future__ import annotations

import re

import numpy as np
import pytest

from keysense.finding import Finding, Limit, Place
from keysense.findings.registry import REGISTER
from keysense.following import follow
from keysense.following.following import PAIR, Following
from keysense.notes import Take
from keysense.practice import read_practice
from keysense.targets.target import Target
from keysense.units import UNITS
from keysense.words import say_for_child, say_for_teacher, say_shift, say_ties
from keysense.words.catalogue import has_word, template
from keysense.words.figures import WEEKS, figures
from keysense.words.table import TABLE
from keysense.words.table_child import CHILD, FORBIDDEN

NAMES = (
    ("tempo", "quarters/min"), ("drift", "%"), ("evenness_timing", "%"), ("evenness_timing_robust", "%"),
    ("sd_ioi", "ms"), ("cv_ioi", "%"), ("evenness_loudness", "velocity"), ("rise", "velocity"),
    ("loudness_contrast", "velocity"), ("overlap", "ms"), ("overlap_ratio", "1"), ("hold_ratio", "1"),
    ("hands_lag", "ms"), ("notes_as_written", "count"), ("notes_other_pitch", "count"), ("notes_left_out", "count"),
    ("notes_extra", "count"), ("waits", "count"), ("breath", "count"), ("breath_time", "%"), ("breath_air", "1"),
    ("goings_back", "count"),
    *((row.name, row.unit) for row in REGISTER.values()),
)  # fmt: skip
# words the trade has but teachers do not say; none may reach a page
TECHNICAL = ("IOI", "port", "recipe", "interval", "velocity", "None", "nan", "_")


def every_finding() -> list[Finding]:
    rows = []
    for name, unit in NAMES:
        for value, low, high in ((12.0, 8.0, 16.0), (-12.0, -16.0, -8.0), (1.0, -4.0, 6.0), (0.0, None, None)):
            figure = abs(value) if unit == "count" else value
            rows.append(Finding(name, figure, unit, 9, low, high, place=Place((5, 6), "R")))
        rows.append(Finding.missing(name, unit, "five notes are too few to say"))
    return rows


def has_forbidden(text: str) -> list[str]:
    return [word for word in FORBIDDEN if re.search(rf"(?<![a-z]){re.escape(word)}(?![a-z])", text.lower())]


def test_a_rise_names_its_bars_its_hand_its_likely_range_and_what_it_rests_on() -> None:
    rise = Finding("rise", 26, "velocity", 7, 14, 38, Limit(8, "min"), Place((5, 6), "R"))
    assert say_for_teacher(rise) == (
        "Bars 5 and 6, right hand: grew by 26 steps of touch, likely between 14 and 38, from 7 notes."
    )


def test_a_range_that_holds_both_ways_is_not_called_either() -> None:
    said = say_for_teacher(Finding("drift", 1.0, "%", 20, -3.0, 5.0))
    assert "faster by" not in said and "slower by" not in said


def test_falling_is_said_with_sizes_not_with_signs() -> None:
    assert say_for_teacher(Finding("drift", -6.2, "%", 25, -8, -4)) == (
        "Got slower by 6.2 in a hundred, likely between 4.0 and 8.0, from 25 steps."
    )


def test_figures_that_stand_beside_each_other_are_said_as_finely() -> None:
    assert figures((0.5, 4.54), "%") == ["0.5", "4.5"]
    assert figures((0.5, 9.96), "%") == ["0", "10"]
    assert figures((-4.4, 4.54), "velocity", WEEKS) == ["minus 4.4", "4.5"]
    assert figures((0.031, 0.274), "1") == ["3", "27"]
    for unit in UNITS:
        for said in (figures((0.26, 3.14159), unit), figures((12.3456, 1.0), unit)):
            assert len({len(text.partition(".")[2]) for text in said}) == 1


def test_missing_says_why_and_never_a_figure() -> None:
    said = say_for_teacher(Finding.missing("evenness_timing", "%", "five notes are too few to say"))
    assert said == "Evenness of the steps: can’t tell, five notes are too few to say."


def test_counts_name_each_place_once() -> None:
    places = (Place((4, 4), "R"), Place((4, 4), "R"), Place((6, 6), "L"))
    said = say_for_teacher(Finding("notes_other_pitch", 3, "count", 26, places=places))
    assert said == "Another note sounded in 3 places: bar 4, right hand; bar 6, left hand."


def test_a_range_much_wider_than_its_figure_is_said_to_be_rough() -> None:
    spread = Finding("evenness_timing", 12.0, "%", 11, 7.0, 33.0)
    assert "and that only roughly: likely between 7 and 33" in say_for_teacher(spread)
    assert "only roughly: likely up to 90" in say_for_teacher(Finding("hold_ratio", 0.4, "1", 3, -0.1, 0.9))
    rise = Finding("rise", 26, "velocity", 7, 14, 38)
    assert "roughly" not in say_for_teacher(rise)


def test_a_figure_that_may_fall_below_nothing_keeps_both_ends_of_its_range() -> None:
    for name, unit in (("rise_order", "1"), ("rise_slope", "velocity")):
        said = say_for_teacher(Finding(name, -0.22, unit, 9, -0.69, 0.4, place=Place((5, 6), "R")))
        assert "minus" in said
        assert "up to" not in said


def test_a_mechanical_take_reads_as_what_it_is() -> None:
    # sums of seconds end in some 1e-13 %, which is no drift and no range
    assert say_for_teacher(Finding("drift", -2e-13, "%", 22, -3e-13, -1e-13, Limit(10, "both"))) == (
        "Kept its pace, from 22 steps; that is within the limit, 10."
    )
    assert say_for_teacher(Finding("arch_tempo", 1e-15, "%", 8, -2e-14, 3e-14)) == (
        "The phrase kept one pace, from 8 steps."
    )
    assert say_for_teacher(Finding("period_spread", 0.0, "%", 24, 0.0, 0.0)) == (
        "The pulse stayed at one pace throughout, from 24 steps."
    )


def test_a_breath_says_after_which_bar_and_how() -> None:
    heard = Finding("breath", 1, "count", 2, places=(Place((4, 4), how="both"),))
    assert say_for_teacher(heard) == "A breath after bar 4, let go and time taken."


def test_a_count_of_none_is_a_sentence_of_its_own() -> None:
    assert say_for_teacher(Finding("notes_left_out", 0, "count", 26)) == "No note left out."


@pytest.mark.parametrize("finding", every_finding(), ids=lambda f: f"{f.name} {f.value}")
def test_every_finding_can_be_said_to_both_readers(finding: Finding) -> None:
    teacher, child = say_for_teacher(finding), say_for_child(finding)
    assert teacher.endswith(".") and teacher[0].isupper()
    assert not [word for word in TECHNICAL if word in teacher]
    assert not has_forbidden(child) and not re.search(r"\d", child)


def test_no_row_for_children_holds_a_forbidden_word_or_a_figure() -> None:
    for key, text in CHILD.items():
        assert not has_forbidden(text), key
        assert not re.search(r"\d", text), key


def test_a_finding_without_a_sentence_of_its_own_is_still_said() -> None:
    assert say_for_teacher(Finding("bow_weight", 3, "count", 2)).startswith("Bow weight: 3")


def test_every_row_reaches_the_translators() -> None:
    written = template()
    assert all(f"#. {key}\n" in written for key in TABLE)


def test_another_key_is_told_as_played_and_not_as_a_fault() -> None:
    def followed(**shift: int) -> Following:
        shifts = {("" if hand == "both" else hand): by for hand, by in shift.items()}
        return Following(np.zeros(0, PAIR), np.zeros(0, np.int32), [], shifts, None, 1.0, False)

    assert say_shift(followed(R=0, L=-12)) == ["The left hand was played an octave lower than written."]
    assert say_shift(followed(both=2)) == ["It was played 2 semitones higher than written."]
    assert say_shift(followed(R=0)) == []


@pytest.mark.parametrize(("ratio", "said"), [(0.5, "half"), (2.1, "twice"), (1.0, ""), (0.7, ""), (None, "")])
def test_row_17_half_or_double_the_pace_is_told_once_and_as_no_fault(ratio: float | None, said: str) -> None:
    told = say_shift(Following(np.zeros(0, PAIR), np.zeros(0, np.int32), [], {}, ratio, 1.0, False))
    assert (len(told) == 1 and said in told[0]) if said else told == []


@pytest.mark.parametrize("name", ["melody_lead", "pedal_press", "pedal_release", "overlap"])
def test_a_range_that_holds_both_ways_claims_no_together(name: str) -> None:
    for low, high, stands in ((-40.0, 60.0, True), (15.0, 39.0, False)):
        said = say_for_teacher(Finding(name, 20.0, "ms", 8, low, high, stands=stands))
        assert "can’t tell" in said.lower()


def test_bars_that_are_alike_on_the_page_are_told_and_not_guessed_in_silence() -> None:
    tune = [60, 62, 64, 65, 67, 65, 64, 62, 60, 64, 67, 72, 71, 67, 65, 62]
    target = Target.from_notes(onset_quarter=np.arange(48), duration_quarter=np.ones(48), pitch=tune * 3, tempo_qpm=90)
    onset = np.arange(9) * 0.66
    take = Take.from_notes(onset_s=onset, release_s=onset + 0.5, pitch=tune[4:13], velocity=[60] * 9)
    assert say_ties(follow(target, take)) == [
        "Bars 2 to 4 come again from bar 6 and bar 10: which of them was played cannot be known."
    ]
    whole = Take.from_notes(
        onset_s=np.arange(48) * 0.66, release_s=np.arange(48) * 0.66 + 0.5, pitch=tune * 3, velocity=[60] * 48
    )
    assert say_ties(follow(target, whole)) == []


def test_a_child_is_told_of_hands_together_only_where_that_is_known() -> None:
    row = Finding("hands_lag", 5.0, "ms", 12, -10.0, 20.0, Limit(30.0, "both"))
    assert say_for_child(row) == "Both hands came together."
    wide = Finding("hands_lag", 5.0, "ms", 12, -70.0, 80.0, Limit(30.0, "both"))
    assert "couldn’t hear" in say_for_child(wide)


@pytest.mark.parametrize("name", [name for name, _ in NAMES if has_word(f"{name}.up")])
def test_a_child_is_told_nothing_that_the_teacher_is_told_nobody_can_tell(name: str) -> None:
    unit = dict(NAMES)[name]
    limit = read_practice().limit(name) or (Limit(5, "min") if name == "rise" else None)
    said = say_for_child(Finding(name, 3.0, unit, 9, -400.0, 450.0, limit))
    assert "couldn’t hear" in said or said.endswith("?"), said


def test_a_child_is_told_the_way_that_was_asked_and_the_way_the_phrase_went() -> None:
    fading = Finding("rise", -5.0, "velocity", 8, -20, 10, Limit(-5, "max"))
    assert "faded" in say_for_child(fading)
    assert "grew" in say_for_child(Finding("rise", 5.0, "velocity", 8, -10, 20, Limit(5, "min")))
    below, above = (Finding("arch_loudness", v, "velocity", 30, v - 2, v + 2) for v in (-10.0, 10.0))
    assert "rise and fall" in say_for_child(above)
    assert "rise and fall" not in say_for_child(below)


def test_a_tune_is_followed_all_the_way_only_where_every_note_came() -> None:
    assert "all the way" in say_for_child(Finding("notes_as_written", 26, "count", 26))
    assert "all the way" not in say_for_child(Finding("notes_as_written", 3, "count", 26))
