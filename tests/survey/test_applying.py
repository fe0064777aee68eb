"""A known piano's own share is taken out of what is found on it, and gaps finer than its clock are not judged."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.make.many import Piano, survey_take
from keysense.finding import Finding, Place
from keysense.notes import Take
from keysense.survey import as_known, by_survey, hear_survey, touch_level


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


def test_an_inverted_pedal_is_turned_round_and_the_take_stays_as_it_came() -> None:
    survey = hear_survey(survey_take(Piano(pedal=(0, 127, 0, 127)), 1))
    take = survey_take(Piano(pedal=(127, 0)), 2)
    assert as_known(take, survey).pedals["value"].tolist() == [0, 127]
    assert take.pedals["value"].tolist() == [127, 0]
    assert as_known(take, hear_survey(survey_take(Piano(), 1))) is take


def test_on_a_piano_of_one_loudness_even_eight_notes_are_not_judged() -> None:
    survey = hear_survey(survey_take(Piano(fixed=64), 1))
    assert "one_velocity" in as_known(survey_take(Piano(), 2), survey).meta.flags


@pytest.mark.parametrize("gamma", [0.6, 1.6])
def test_touch_is_told_on_the_piano_s_own_scale(gamma: float) -> None:
    piano = Piano(gamma=gamma)
    survey = hear_survey(survey_take(piano, 1))
    onset = np.arange(30.0)
    touch = np.random.default_rng(3).normal(0.4, 0.05, 30)
    take = Take.from_notes(onset_s=onset, release_s=onset + 0.3, pitch=[60] * 30, velocity=piano.velocity(touch))
    (level,) = touch_level(take, survey)
    assert (level.unit, level.n) == ("1", 30)
    assert level.value == pytest.approx(0.4, abs=0.05)
    assert 0 < level.low <= level.value <= level.high < 1
    assert touch_level(take, hear_survey(survey_take(Piano(fixed=64), 1))) == ()
