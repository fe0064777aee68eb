"""Do the accented notes stand out."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import statsmodels.api as sm

from fixtures.make.listening import heard
from fixtures.make.music import Marked, five_fingers
from fixtures.make.player import Planted, play
from keysense.findings import look
from keysense.notes import Take
from keysense.targets.target import Mark, Target

RUN = five_fingers(2)
ACCENTED = RUN.with_marks(*(Marked("accent", q, q, f"a{q}", "R") for q in (2, 6, 9, 13)))
PLAN = Planted(accent=18, touch_noise=4)


def test_the_planted_accent_is_found() -> None:
    found = heard(ACCENTED, PLAN).one("accent", "R")
    assert found.low < 18 < found.high
    assert (found.n, found.unit, found.verdict) == (4, "velocity", "within")


def test_the_figure_is_that_of_statsmodels() -> None:
    # computed: ordinary least squares of statsmodels on the same columns (one block of 17 notes, a quadratic)
    played, found = play(ACCENTED, PLAN, 1), heard(ACCENTED, PLAN).one("accent")
    x = RUN.onset - RUN.onset.mean()
    columns = np.stack([np.isin(RUN.onset, (2, 6, 9, 13)).astype(float), np.ones(len(x)), x, x**2], axis=1)
    fit = sm.OLS(played.velocity.astype(float), columns).fit()
    assert found.value == pytest.approx(fit.params[0])
    assert [found.low, found.high] == pytest.approx(fit.conf_int()[0].tolist())


def test_speed_key_and_level_change_nothing() -> None:
    moved = heard(ACCENTED, replace(PLAN, tempo_qpm=60, up=-2, loudness=50)).one("accent")
    assert moved.value == pytest.approx(heard(ACCENTED, PLAN).one("accent").value)


def test_one_accent_is_too_few_and_none_is_no_question() -> None:
    assert heard(RUN.with_marks(Marked("accent", 2, 2, "a", "R"))).one("accent").value is None
    assert heard(RUN).one("accent") is None


def test_the_interval_holds_the_plant_as_often_as_it_says() -> None:
    rows = [heard(ACCENTED, PLAN, seed).one("accent") for seed in range(150)]
    assert 0.89 <= np.mean([row.low <= 18 <= row.high for row in rows]) <= 0.99


def test_an_accent_on_a_hand_that_has_only_a_grace_note_is_no_question() -> None:
    tune = 60 + np.array([0, 2, 4, 5, 7, 5, 4, 2] * 2)
    onset = np.append(np.arange(16.0), 4.0)
    target = Target.from_notes(
        onset_quarter=onset, duration_quarter=np.ones(17), pitch=np.append(tune, 40), hand=["R"] * 16 + ["L"],
        is_grace=[False] * 16 + [True], marks=[Mark("accent", 4, 4, "a", hand="L", note_ids=("n16",))],
    )  # fmt: skip
    onset_s = onset / 2
    onset_s[-1] -= 0.1
    take = Take.from_notes(
        onset_s=onset_s, release_s=onset_s + 0.3, pitch=np.append(tune, 40), velocity=60 + np.arange(17) % 5
    )
    assert [finding.value for finding in look(take, target).named("accent")] in ([], [None])
