"""A known piano's own share is taken out of what is found on it, and gaps finer than its clock are not judged."""

from __future__ import annotations

import pytest

from fixtures.make.many import Piano, survey_take
from keysense.finding import Finding, Place
from keysense.survey import by_survey, hear_survey


def gap(value: float, hand: str, name: str = "two_note_touch_gap") -> Finding:
    return Finding(name, value, "ms", 8, value - 4, value + 4, place=Place(hand=hand))  # type: ignore[arg-type]


def test_the_pianos_own_gap_is_taken_off_towards_the_little_finger() -> None:
    survey = hear_survey(survey_take(Piano(pair_lag_s=0.012), 1))
    own = survey.one("pair_gap")
    right, left = by_survey([gap(24, "R"), gap(24, "L")], survey)
    assert right.value == pytest.approx(24 - own.value)
    assert left.value == pytest.approx(24 + own.value)
    assert right.low < 12 < right.high
    assert right.high - right.low > 8  # the survey is not sure to the last millisecond either


def test_a_share_that_is_none_changes_nothing() -> None:
    survey = hear_survey(survey_take(Piano(), 2))
    assert survey.one("pair_gap").low < 0 < survey.one("pair_gap").high
    assert by_survey([gap(24, "R")], survey) == (gap(24, "R"),)


@pytest.mark.parametrize("name", ["hands_lag", "melody_lead", "chord_spread", "two_note_touch_gap"])
def test_a_gap_finer_than_the_clock_is_not_judged(name: str) -> None:
    survey = hear_survey(survey_take(Piano(step_ms=10), 2))
    fine, coarse = by_survey([gap(-6, "R", name), gap(-30, "R", name)], survey)
    assert fine.value is None and "steps of 10 ms" in fine.why_missing
    assert coarse.value is not None
    other = Finding("overlap", 3, "ms", 9)
    assert by_survey([other], survey) == (other,)
