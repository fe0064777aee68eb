"""Two-note slurs, and how slurs end."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from fixtures.make.listening import heard
from fixtures.make.music import Marked, five_fingers
from fixtures.make.player import Planted, play
from keysense.findings import look

RUN = five_fingers(4)
TWOS = RUN.with_marks(*(Marked("slur", q, q + 1, f"s{q}", "R") for q in range(0, 32, 2)))
FOURS = RUN.with_marks(*(Marked("slur", q, q + 3, f"s{q}", "R") for q in range(0, 32, 4)))


def sighing(softer: float, early: float, seed: int = 1):
    """Seconds of each pair softer, and let go that share early."""
    played = play(TWOS, Planted(hold=1 - early, touch_noise=3, hold_noise=0.02), seed)
    played.velocity[1::2] -= round(softer)
    return look(played.take(), TWOS.target(), following=played.following())


@pytest.mark.parametrize(("softer", "early"), [(10, 0.4), (10, 0.0), (0, 0.4)])
def test_both_are_reported_and_neither_needs_the_other(softer: float, early: float) -> None:
    # common practice, no source: of two slurred notes the second is softer, or let go earlier, or both
    reading = sighing(softer, early)
    loudness, release = reading.one("sigh_loudness", "R"), reading.one("sigh_release", "R")
    assert loudness.value == pytest.approx(-softer, abs=3)
    assert release.value == pytest.approx(early, abs=0.03)
    assert loudness.n == 16
    assert loudness.limit is None and release.limit is None


def test_speed_key_and_level_change_nothing() -> None:
    plan = Planted(hold=0.7, hold_noise=0.05, touch_noise=3)
    plain, moved = heard(TWOS, plan), heard(TWOS, replace(plan, tempo_qpm=150, up=2, loudness=80))
    for name in ("sigh_loudness", "sigh_release"):
        assert moved.one(name).value == pytest.approx(plain.one(name).value)


def test_two_such_slurs_are_too_few_and_none_is_no_question() -> None:
    two = RUN.with_marks(*TWOS.marks[:2])
    assert "takes 3 two-note slurs" in heard(two, Planted(touch_noise=3)).one("sigh_loudness").why_missing
    assert heard(FOURS).one("sigh_loudness") is None


def test_the_end_of_longer_slurs_is_their_own_question() -> None:
    reading = heard(FOURS, Planted(hold=0.6, overlap_s=0.03))
    assert reading.one("slur_end", "R").value == pytest.approx(0.4, abs=0.01)
    assert reading.one("slur_end").n == 8


def test_the_interval_is_what_scipys_test_does_not_refuse() -> None:
    # computed: scipy.stats.wilcoxon refuses at 5 % what lies outside the interval
    plan = Planted(hold=0.6, hold_noise=0.08, overlap_s=0.03)
    played = play(FOURS, plan, 4)
    found = look(played.take(), FOURS.target(), following=played.following()).one("slur_end")
    ends = np.arange(3, 32, 4)
    silent = 1 - (played.release_s[ends] - played.onset_s[ends]) / (played.onset_s[ends + 1] - played.onset_s[ends])
    assert found.value == pytest.approx(np.median(silent))
    for tried, refused in ((found.low - 1e-4, True), (found.low + 1e-4, False), (found.high + 1e-4, True)):
        assert bool(stats.wilcoxon(silent - tried).pvalue < 0.05) is refused
