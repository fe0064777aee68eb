"""A piano made known in a lesson: what was played since it was begun belongs to it, in as many parts as it came."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from fixtures.make.many import Piano, survey_take
from fixtures.make.music import millers_cat
from fixtures.make.player import Planted, play
from keysense.errors import SurveyError
from keysense.notes import Take
from keysense.smf import take_to_smf
from keysense.studio.surveying import begin, end, put_together, take_up, under_way


def parts_of(take: Take, *cuts: int) -> list[Take]:
    """The same playing as it comes where the teacher pauses: each part's times begin at its first event."""
    found = []
    for rows in np.split(np.arange(len(take.notes)), cuts):
        notes, first = take.notes[rows].copy(), take.notes["onset_s"][rows[0]]
        for column in ("onset_s", "release_s"):
            notes[column] -= first
        last = rows[-1] == len(take.notes) - 1
        pedals = take.pedals.copy() if last else take.pedals[:0]
        pedals["time_s"] = pedals["time_s"] - first
        found.append(Take(notes, pedals, take.meta))
    return found


def put(studio, part: Take, after_s: float, piano: str = "hall") -> str:
    started = studio.now() + timedelta(seconds=after_s)
    return studio.add_take(part, take_to_smf(part), started_utc=started, instrument=piano)


@pytest.fixture
def played(studio):
    """A survey under way, played in four parts."""
    begin(studio, touch_setting=" medium ")
    for k, part in enumerate(parts_of(survey_take(Piano(step_ms=4.0), 1), 15, 30, 45)):
        put(studio, part, 20 + 15 * k)
    return studio


def test_a_survey_in_parts_is_that_of_the_whole(played):
    assert (under_way(played).n, len(under_way(played).takes)) == (65, 4)
    known = take_up(played)
    assert known.is_first and known.stored.touch_setting == "medium"
    assert known.stored.survey.clock_step_ms == 4.0  # the parts were not put off the piano's clock
    assert known.stored.survey.one("touch_soft").n == 15
    assert known.stored.survey.pedal == "switch"
    assert played.takes() == [] and under_way(played) is None
    assert played.survey_of("hall").id == known.stored.id


def test_what_was_played_before_and_what_has_a_name_is_no_part_of_it(studio):
    pip = studio.add_pupil("Pip", agreed_by="his father", on="2026-09-01")
    cat = studio.add_piece("Cat")
    tune = play(millers_cat(), Planted(), 1).take()
    put(studio, tune, -60)
    begin(studio)
    named = put(studio, tune, 5)
    studio.name_take(named, pupil=pip.id, piece=cat.id)
    assert under_way(studio).takes == ()
    with pytest.raises(SurveyError, match="nothing was heard"):
        take_up(studio)
    put(studio, tune, 30)
    with pytest.raises(SurveyError, match="no survey"):
        take_up(studio)
    assert under_way(studio) is not None  # it can be played again
    end(studio)
    assert len(studio.takes()) == 3


def test_a_second_survey_tells_what_moved(played):
    take_up(played)
    begin(played)
    put(played, survey_take(Piano(gamma=1.6), 2), 90)
    known = take_up(played)
    assert not known.is_first and known.moved["touch_soft"] < -3
    assert len(played.surveys("hall")) == 2


def test_parts_are_put_where_a_clock_s_steps_still_fit():
    part = Take.from_notes(onset_s=[0.0, 0.5], release_s=[0.2, 0.9], pitch=[60, 62], velocity=[50, 60])
    whole = put_together([part, part, part])
    assert whole.notes["onset_s"].tolist() == [0.0, 0.5, 6.0, 6.5, 12.0, 12.5]
