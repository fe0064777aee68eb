"""How the close slows down."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad

from fixtures.make.listening import heard
from fixtures.make.music import Marked, Music, five_fingers
from fixtures.make.player import Planted
from keysense.findings.closing import fit_close, ritardando_speed, ritardando_time

MUSIC = five_fingers(5).with_marks(Marked("ritardando", 32, 44, "rit"))
EDGES = np.linspace(0, 1, 9)


def slowed(music: Music, start: float, w: float, q: float) -> dict[int, float]:
    """Each step of the close as many times longer as the curve has it."""
    end = float(music.onset.max())
    rows = [row for row in range(1, len(music)) if music.onset[row - 1] >= start - 1e-9]
    share = {row: (music.onset[[row - 1, row]] - start) / (end - start) for row in rows}
    return {row: float(ritardando_time(*at, w, q) / (at[1] - at[0])) for row, at in share.items()}


@pytest.mark.parametrize(("w", "q"), [(0.5, 2.0), (0.4, 3.0), (0.7, 1.0), (1.0, 2.0), (1.2, 2.0)])
def test_a_step_lasts_as_long_as_scipy_integrates(w: float, q: float) -> None:
    # formula: Friberg & Sundberg 1999, from memory; its integral is scipy's (computed)
    for first, second in pairwise(EDGES.tolist()):
        theirs = quad(lambda x: 1 / ritardando_speed(x, w, q), first, second)[0]
        assert float(ritardando_time(first, second, w, q)) == pytest.approx(theirs, rel=1e-5)


@pytest.mark.parametrize("q", [2.0, 3.0])  # published: both are rated best (Friberg & Sundberg 1999)
def test_the_planted_curve_is_found(q: float) -> None:
    reading = heard(MUSIC, Planted(ioi_noise=0.01, waits=slowed(MUSIC, 32, 0.5, q)))
    speed, bend = reading.one("closing_speed"), reading.one("closing_bend")
    assert speed.value == pytest.approx(0.5, abs=0.04)
    assert bend.value == pytest.approx(q, rel=0.25)
    assert speed.low < 0.5 < speed.high and bend.low < q < bend.high
    assert reading.one("waits").value == 0


def test_no_slowing_is_a_speed_of_one_and_has_no_shape() -> None:
    reading = heard(MUSIC, Planted(ioi_noise=0.04))
    assert reading.one("closing_speed").low < 1 < reading.one("closing_speed").high
    assert "too slight" in reading.one("closing_bend").why_missing


def test_speed_of_the_whole_changes_nothing() -> None:
    plan = slowed(MUSIC, 32, 0.5, 2)
    slow, fast = (heard(MUSIC, Planted(ioi_noise=0.02, waits=plan, tempo_qpm=qpm)) for qpm in (60, 132))
    assert slow.one("closing_speed").value == pytest.approx(fast.one("closing_speed").value, rel=1e-6)


def test_a_close_of_few_notes_is_no_question() -> None:
    assert heard(five_fingers(5)).one("closing_speed") is None


def test_the_interval_holds_what_was_planted() -> None:
    rng = np.random.default_rng(5)
    true = np.log(ritardando_time(EDGES[:-1], EDGES[1:], 0.5, 2.0) / np.diff(EDGES))
    fits = [
        fit_close(EDGES[:-1], EDGES[1:], true + rng.normal(0, 0.05, 8), rng.normal(0, 0.05, 20)) for _ in range(100)
    ]
    told = [fit.speed for fit in fits if fit.speed.low is not None]
    assert len(told) > 90
    assert sum(e.low <= 0.5 <= e.high for e in told) >= 0.88 * len(told)
