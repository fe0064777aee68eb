"""Pianos made known: kept, superseded, and used where two pianos meet."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fixtures.make.many import Piano, on_piano, survey_take
from fixtures.make.music import millers_cat
from fixtures.make.player import Planted, play
from keysense.comparing import Character, weeks
from keysense.smf import take_to_smf
from keysense.studio.between import overnights
from keysense.studio.looking import beside, look_at
from keysense.studio.many import line_bars
from keysense.survey import hear_survey

BRIGHT, DULL = Piano(gamma=0.6), Piano(gamma=1.6)
PLAIN = Planted(ioi_noise=0.06, touch_noise=6, hold_noise=0.08)


@pytest.fixture
def cat(studio):
    piece = studio.add_piece("Cat")
    studio.add_target(piece.id, millers_cat().target())
    return piece


@pytest.fixture
def pip(studio):
    return studio.add_pupil("Pip", agreed_by="his father", on="2026-09-01")


def put(studio, pip, cat, planted, seed, piano, name, **more) -> str:
    take = on_piano(play(millers_cat(), planted, seed), piano)
    take_id = studio.add_take(take, take_to_smf(take), started_utc=studio.now(), instrument=name, source="file")
    studio.name_take(take_id, pupil=pip.id, piece=cat.id, **more)
    return take_id


def make_known(studio, **pianos: Piano) -> None:
    for name, piano in pianos.items():
        studio.keep_survey(name, hear_survey(survey_take(piano, 1)))


def test_the_newest_survey_counts_and_the_older_is_kept(studio, clock):
    make_known(studio, upstairs=BRIGHT)
    clock.on(days=1)
    studio.keep_survey("upstairs", hear_survey(survey_take(DULL, 2)), touch_setting="heavy ")
    assert studio.survey_of("upstairs").touch_setting == "heavy"
    assert len(studio.surveys("upstairs")) == 2
    assert studio.survey_of("hall") is None
    assert studio.touch_curves().keys() == {"upstairs"}
    studio.keep_survey("upstairs", hear_survey(survey_take(Piano(fixed=64), 3)))
    clock.on(days=1)
    assert studio.surveys()[0].survey.n == 65


def test_two_pianos_that_are_not_known_tell_nothing_of_loudness(studio, pip, cat):
    a = put(studio, pip, cat, PLAIN, 1, BRIGHT, "upstairs")
    b = put(studio, pip, cat, PLAIN, 2, DULL, "hall")
    both = beside(studio, a, b)
    for name in ("loudness", "contrast"):
        assert "not surveyed" in both.one(name).difference.why_missing
        assert both.one(name).outcome is None
    assert both.one("tempo").difference.value is not None
    make_known(studio, upstairs=BRIGHT)
    assert "not surveyed" in beside(studio, a, b).one("loudness").difference.why_missing


def test_two_known_pianos_are_heard_alike(studio, pip, cat):
    a = put(studio, pip, cat, PLAIN, 1, BRIGHT, "upstairs")
    b = put(studio, pip, cat, PLAIN, 2, DULL, "hall")
    c = put(studio, pip, cat, replace(PLAIN, loudness=96), 3, DULL, "hall")
    make_known(studio, upstairs=BRIGHT, hall=DULL)
    assert beside(studio, a, b).one("loudness").outcome is None
    loud = Character("loud", wishes={"loudness": "louder"})
    assert beside(studio, a, c, wants_b=loud).one("loudness").outcome == "asked and heard"
    assert (studio.take_notes(b).notes["velocity"] < 60).any()  # what was sent is kept


@pytest.mark.parametrize("known", [True, False])
def test_weeks_go_on_over_a_new_piano_only_where_both_are_known(studio, clock, pip, cat, known):
    for week in range(8):
        piano, name = (BRIGHT, "upstairs") if week < 4 else (DULL, "hall")
        take = put(studio, pip, cat, replace(PLAIN, touch_noise=16 - 2 * week), week, piano, name)
        look_at(studio, take)
        clock.on(weeks=1)
    if known:
        make_known(studio, upstairs=BRIGHT, hall=DULL)
    points = studio.weeks_of(pip.id, cat.id, "evenness_loudness", "R")
    line = weeks(points, "even")
    assert [week.judged for week in line.weeks] == ([True] * 8 if known else [False] * 4 + [True] * 4)
    assert line.word == ("more even" if known else "can't tell yet")


def test_from_one_lesson_to_the_next(studio, clock, pip, cat):
    sleepy = {"character": "sleepy"}
    put(studio, pip, cat, replace(PLAIN, tempo_qpm=108, loudness=80), 1, BRIGHT, "upstairs", **sleepy)
    assert overnights(studio, pip.id, cat.id) == ()
    clock.on(weeks=1)
    put(studio, pip, cat, replace(PLAIN, tempo_qpm=70, loudness=80), 2, BRIGHT, "upstairs", **sleepy)
    clock.on(minutes=5)
    put(studio, pip, cat, PLAIN, 3, BRIGHT, "upstairs", **sleepy)  # the second of the day is not asked
    (pair,) = overnights(studio, pip.id, cat.id)
    words = {one.name: one.word for one in pair.found}
    assert words["tempo"] == "grew overnight"
    assert words["loudness"] in ("kept", "can't tell yet")
    clock.on(weeks=1)
    put(studio, pip, cat, replace(PLAIN, tempo_qpm=70, loudness=80), 4, BRIGHT, "upstairs", character="proud")
    (pair,) = overnights(studio, pip.id)
    assert pair.last is None and "not played in this character" in pair.why


def test_lines_of_the_page_are_known_where_the_score_says_so():
    xml = (
        '<measure number="1"></measure><measure number="2" width="9"><print new-system="yes"/></measure>'
        '<measure number="3"><print new-page="yes"/></measure>'
    )
    assert line_bars(xml) == (2, 3)
    assert line_bars("") == ()
