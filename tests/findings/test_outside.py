"""Limits and definitions against what others have published or computed; each source is named where it is checked.

Marks: published (the text was read), computed (on open data or by simulation), common practice (no source). More such
checks stand beside the findings they belong to: runs of equal values, drift, crescendo, touch, trends, a professional
take, mir_eval.
"""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.make.listening import heard
from fixtures.make.music import Marked, five_fingers, millers_cat
from fixtures.make.player import Planted
from keysense.practice import read_practice

TABLE = read_practice()


def test_the_loudness_step_lies_above_what_listeners_just_notice() -> None:
    # published: Slade et al. 2022, doi 10.1177/03057356221126203: 2.71 to 4.48 velocity units on one instrument
    assert 4.48 < TABLE.value("loudness_step") <= 5
    assert "10.1177/03057356221126203" in TABLE.rows["loudness_step"].source
    assert TABLE.rows["loudness_step"].basis == "published"


def test_the_tempo_step_is_the_published_one_for_six_intervals() -> None:
    # published: Drake & Botte 1993: 6 / 4 / 3.2 / 3 % for 1 / 2 / 4 / 6 intervals
    assert TABLE.value("tempo_step") == 3.0
    assert "Drake & Botte 1993" in TABLE.rows["tempo_step"].source


def test_the_step_of_evenness_is_the_published_one() -> None:
    # published: Friberg & Sundberg 1995 (abstract): 6 ms below 240 ms, else 2.5 % (their 1992 report: 10 ms / 5 %)
    assert TABLE.value("evenness_step") == 2.5
    assert TABLE.value("evenness_step_quick") == 6
    assert pytest.approx(TABLE.value("evenness_step") / 100) == TABLE.value("evenness_step_quick") / 240


def test_no_trend_word_before_the_week_at_which_one_can_be_told() -> None:
    # computed: a perfect rise of four has p = .083, of five .0167
    from keysense.comparing.weeks import mann_kendall

    fewest = int(TABLE.value("trend_weeks"))
    assert mann_kendall(np.arange(fewest - 1.0))[1] > 0.05
    assert mann_kendall(np.arange(float(fewest)))[1] < 0.05


def test_a_stumble_of_half_as_long_again_is_common_practice_and_says_so() -> None:
    # common practice: no published threshold was found
    row = TABLE.rows["wait"]
    assert (row.value, row.basis) == (1.5, "common practice")
    assert "no source" in row.source


def test_together_lies_where_professional_chords_lie() -> None:
    # computed: 12,323 professional chords spread 31 ms in the median, 69 ms at the 95th percentile; a rule "within
    # 20 ms" would fail most of them
    assert 20 < TABLE.value("hands_lag") <= 31


def test_short_under_a_dot_holds_the_published_staccato_and_the_computed_one() -> None:
    # published (Bresin & Battel 2000): about 40 % of the step; computed, 22 professionals: .235 [.165; .348]
    music = five_fingers(4).with_marks(Marked("staccato", 0, 16, "t1", "R"))
    for ratio in (0.4, 0.235, 0.348):
        assert heard(music, Planted(hold=ratio, hold_noise=0.03)).one("hold_ratio").verdict == "within"


@pytest.mark.parametrize("overlap_ms", [25, 47, 71])
def test_computed_professional_overlap_is_joined(overlap_ms: float) -> None:
    # computed, 22 professionals: overlapping legato 47 ms [25; 71]
    music = five_fingers(4).with_marks(Marked("slur", 0, 15, "s1", "R"))
    reading = heard(music, Planted(overlap_s=overlap_ms / 1000, overlap_noise_s=0.015))
    assert reading.one("overlap_ratio").verdict == "within"


def test_releasing_early_in_two_steps_of_five_is_still_joined() -> None:
    # computed: professionals release before the next note in about 40 % of slurred steps, so the median is judged
    music = five_fingers(4).with_marks(Marked("slur", 0, 15, "s1", "R"))
    reading = heard(music, Planted(overlap_s=0.006, overlap_noise_s=0.024))  # P(gap) = 40 %
    assert reading.one("overlap_ratio").verdict == "within"


def test_a_phrase_end_that_professionals_would_take_is_no_wait() -> None:
    # computed: professionals exceed 1.5 three to seven times in an excerpt, 2.0 none to once: phrase ends are marked
    assert heard(millers_cat(), Planted(breath_time=0.9)).one("waits").value == 0
    assert heard(millers_cat().with_phrases(), Planted(waits={14: 1.9})).one("waits").value == 1


def test_a_spread_of_loudness_is_told_by_percentiles_since_extremes_grow_with_the_notes() -> None:
    # computed: max minus min is 2.3 standard deviations with 5 notes, 4.5 with 50
    rng = np.random.default_rng(1)
    spans = {n: np.mean([np.ptp(rng.normal(0, 1, n)) for _ in range(4000)]) for n in (5, 50)}
    assert spans[5] == pytest.approx(2.3, abs=0.05)
    assert spans[50] == pytest.approx(4.5, abs=0.05)
