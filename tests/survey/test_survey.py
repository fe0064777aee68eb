"""A piano made known: what is planted in it is found, and two pianos known say the same of the same playing."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.make.many import Piano, on_piano, survey_take
from fixtures.make.music import millers_cat
from fixtures.make.player import Planted, play
from keysense.comparing import Character, compare
from keysense.errors import SurveyError
from keysense.notes import Take
from keysense.survey import Survey, TouchCurve, hear_survey, moved, on_touch_scale

BRIGHT, DULL = Piano(gamma=0.6), Piano(gamma=1.6)


def known(piano: Piano, seed: int = 1, **more) -> Survey:
    return hear_survey(survey_take(piano, seed, **more))


@pytest.mark.parametrize("gamma", [0.6, 1.0, 1.6])
def test_soft_middle_and_loud_are_what_the_piano_sends_for_them(gamma: float) -> None:
    piano, held = Piano(gamma=gamma), 0
    for seed in range(20):
        survey = known(piano, seed)
        for name, touch in (("soft", 0.2), ("middle", 0.5), ("loud", 0.8)):
            found = survey.one(f"touch_{name}")
            truth = float(piano.velocity(np.array([touch]))[0])
            assert found.n == 15
            assert found.value == pytest.approx(truth, abs=4)
            held += found.low - 0.5 <= truth <= found.high + 0.5
    assert held >= 54  # of 60


def test_floor_and_ceiling_lie_about_the_soft_and_the_loud() -> None:
    survey = known(Piano())
    names = ("touch_floor", "touch_soft", "touch_middle", "touch_loud", "touch_ceiling")
    values = [survey.one(name).value for name in names]
    assert values == sorted(values)
    assert all(survey.one(name).low < survey.one(name).value < survey.one(name).high for name in names)


@pytest.mark.parametrize("gamma", [0.6, 1.0, 1.6])
def test_a_second_survey_of_the_piano_agrees_within_three(gamma: float) -> None:
    pairs = [moved(known(Piano(gamma=gamma), 2 * s), known(Piano(gamma=gamma), 2 * s + 1)) for s in range(40)]
    assert np.mean([len(names) for names in pairs]) / 3 <= 0.07
    assert moved(known(BRIGHT), known(DULL)).keys() == {"touch_soft", "touch_middle", "touch_loud"}


def test_the_curve_undoes_the_piano() -> None:
    touch = np.linspace(0.1, 0.9, 17)
    for piano in (BRIGHT, Piano(), DULL):
        curve = known(piano).curve
        assert np.abs(curve.touch(piano.velocity(touch)) - touch).max() < 0.06


def test_touch_never_turns_and_stays_between_nothing_and_one() -> None:
    touch = TouchCurve(30, 70, 100).touch(np.arange(128))
    assert (np.diff(touch) > 0).all()
    assert (touch[0], touch[127]) == (0, 1)
    assert TouchCurve(30, 70, 100).touch([30, 70, 100]) == pytest.approx([0.2, 0.5, 0.8])
    with pytest.raises(ValueError, match="rise"):
        TouchCurve(70, 30, 100)


SLOW = Planted(ioi_noise=0.06, touch_noise=6, hold_noise=0.08, tempo_qpm=76, loudness=44, hold=1.0)
BRISK = Planted(ioi_noise=0.06, touch_noise=6, hold_noise=0.08, tempo_qpm=108, loudness=88, hold=0.5)
ALIKE = Planted(ioi_noise=0.06, touch_noise=6, hold_noise=0.08, loudness=64)


def words(piano: Piano, plans: tuple[Planted, Planted], seed: int, *, surveyed: bool) -> dict[str, str | None]:
    """The outcomes of two characters on one piano."""
    music = millers_cat()
    played = [play(music, plan, 2 * seed + k) for k, plan in enumerate(plans)]
    takes = [on_piano(p, piano) for p in played]
    if surveyed:
        takes = [on_touch_scale(take, known(piano, seed + 50).curve) for take in takes]
    from keysense.findings import look

    a, b = (look(take, music.target(), following=p.following()) for take, p in zip(takes, played, strict=True))
    quiet = Character("quiet", wishes={"tempo": "slower", "loudness": "softer", "touch": "joined"})
    return {d.name: d.outcome for d in compare(a, b, wants_a=quiet).dimensions}


@pytest.mark.parametrize("plans", [(SLOW, BRISK), (BRISK, SLOW), (ALIKE, ALIKE)], ids=["asked", "turned", "alike"])
def test_two_characters_are_told_the_same_on_two_pianos_that_are_known(plans: tuple[Planted, Planted]) -> None:
    same = [words(BRIGHT, plans, s, surveyed=True) == words(DULL, plans, s, surveyed=True) for s in range(12)]
    assert np.mean(same) >= 0.9


def test_a_difference_between_pianos_that_numbers_alone_would_tell_is_gone_on_the_scale() -> None:
    played = play(millers_cat(), ALIKE, 3)
    raw = [on_piano(played, piano) for piano in (BRIGHT, DULL)]
    on_scale = [on_touch_scale(take, known(piano).curve) for take, piano in zip(raw, (BRIGHT, DULL), strict=True)]
    assert abs(raw[0].notes["velocity"].mean() - raw[1].notes["velocity"].mean()) > 25
    assert abs(on_scale[0].notes["velocity"].mean() - on_scale[1].notes["velocity"].mean()) < 5
    assert (raw[0].notes["velocity"] == on_piano(played, BRIGHT).notes["velocity"]).all()  # the raw one is kept


def test_keys_that_answer_louder_are_found_with_their_region() -> None:
    survey = known(Piano(bias={"high": 12.0}))
    assert survey.one("key_bias", "high").verdict == "beyond"
    assert survey.one("key_bias", "high").low <= 12 <= survey.one("key_bias", "high").high
    plain = [known(Piano(), s).one("key_bias", region) for s in range(20) for region in ("low", "middle", "high")]
    assert not any(bias.verdict == "beyond" for bias in plain)


def test_two_keys_together_tell_the_pianos_own_gap() -> None:
    found = known(Piano(pair_lag_s=0.012)).one("pair_gap")
    assert found.value == pytest.approx(12, abs=3)
    assert (found.n, found.low < 12 < found.high) == (10, True)


@pytest.mark.parametrize("step", [1.0, 4.0, 10.0])
def test_the_step_of_the_clock_is_found(step: float) -> None:
    assert known(Piano(step_ms=step)).clock_step_ms == step


def test_a_fine_clock_says_that_no_step_was_found() -> None:
    survey = known(Piano())
    assert survey.one("clock_step").value is None
    assert survey.clock_step_ms == 0.0


@pytest.mark.parametrize(("values", "kind"), [
    ((), "none"), ((127, 0, 127, 0), "switch"), ((0, 127, 0, 127), "inverted"), ((30, 90, 127, 60, 0), "continuous"),
])  # fmt: skip
def test_the_kind_of_pedal(values: tuple[int, ...], kind: str) -> None:
    assert known(Piano(pedal=values)).pedal == kind


def test_a_piano_of_one_loudness_is_told_and_gets_no_curve() -> None:
    survey = known(Piano(fixed=64))
    assert survey.fixed and survey.curve is None
    assert "one loudness" in survey.one("touch_soft").why_missing
    assert survey.one("pair_gap").value is not None


def test_strays_in_the_silence_are_counted() -> None:
    assert known(Piano(), stray=3).one("stray_messages").value == 3
    assert known(Piano()).one("stray_messages").value == 0


def test_a_stroke_too_many_or_too_few_does_not_matter() -> None:
    take = survey_take(Piano(), 1)
    fewer = Take(np.delete(take.notes, [2, 8, 20]), take.pedals, take.meta)
    survey = hear_survey(fewer)
    assert survey.one("touch_middle").value == pytest.approx(known(Piano()).one("touch_middle").value, abs=2)


def test_a_tune_is_no_survey() -> None:
    with pytest.raises(SurveyError, match="no survey"):
        hear_survey(play(millers_cat(), Planted(), 1).take())
    onset = np.arange(30.0)
    with pytest.raises(SurveyError, match="come apart"):
        hear_survey(
            Take.from_notes(onset_s=onset, release_s=onset + 0.3, pitch=[60] * 15 + [84] * 15,
                            velocity=[90, 91] * 5 + [50] * 5 + [92, 90] * 5 + [49] * 5)
        )  # fmt: skip


def test_a_piano_that_is_at_its_loudest_too_soon_is_told_what_to_do() -> None:
    onset = 0.7 * np.arange(45)
    take = Take.from_notes(onset_s=onset, release_s=onset + 0.3, pitch=np.repeat([40, 60, 80], 15),
                           velocity=([100, 101, 102, 99, 98] + [127, 127, 127, 126, 127] + [127] * 5) * 3)  # fmt: skip
    with pytest.raises(SurveyError, match="heavier touch"):
        hear_survey(take)


def test_a_survey_is_kept_and_given_back_whole() -> None:
    survey = known(Piano(bias={"low": 4.0}, step_ms=2.0))
    assert Survey.from_json(survey.to_json()) == survey
