"""How freely the pulse goes, section by section, and how it comes to its end."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from fixtures.make.listening import heard
from fixtures.make.music import Marked, five_fingers, millers_cat, snail
from fixtures.make.player import Planted, play
from keysense.findings import look
from keysense.findings.closing import ritardando_speed
from keysense.notes import Take

LONG = five_fingers(8)


def test_the_spread_is_scipys_and_near_the_plant() -> None:
    # computed: scipy.stats.median_abs_deviation(scale="normal") over the median of the same periods
    played = play(LONG, Planted(ioi_noise=0.08), 1)
    period = np.diff(played.onset_s) / np.diff(LONG.onset)
    theirs = 100 * stats.median_abs_deviation(period, scale="normal") / np.median(period)
    found = heard(LONG, Planted(ioi_noise=0.08)).one("period_spread")
    assert found.value == pytest.approx(theirs, rel=1e-3)
    assert found.low < 8 < found.high


def test_one_held_note_leaves_it_as_it_is_where_a_coefficient_of_variation_is_ruined() -> None:
    # computed: timing CV is ruined by one held note (68 % against 15 % robust)
    held = play(LONG, Planted(ioi_noise=0.1, waits={20: 8}), 1)
    period = np.diff(held.onset_s) / np.diff(LONG.onset)
    assert 100 * period.std() / period.mean() > 60
    assert heard(LONG, Planted(ioi_noise=0.1, waits={20: 8})).one("period_spread").value < 15


def test_speed_key_and_loudness_change_nothing() -> None:
    plain, moved = (
        heard(LONG, Planted(ioi_noise=0.06, **more)) for more in ({}, {"tempo_qpm": 170, "up": 4, "loudness": 90})
    )
    for name in ("period_spread", "final_slowing"):
        assert moved.one(name).value == pytest.approx(plain.one(name).value)


def test_the_planted_last_step_is_found() -> None:
    found = heard(LONG, Planted(waits={len(LONG) - 1: 1.8})).one("final_slowing")
    assert found.value == pytest.approx(1.8, abs=0.01)
    assert found.place.bars == (17, 17)


def test_without_the_end_or_with_too_few_steps_it_is_missing() -> None:
    assert "last two notes" in heard(LONG, Planted(left_out=(len(LONG) - 1,))).one("final_slowing").why_missing
    assert "takes 8 steps" in heard(snail(), Planted(left_out=(0, 1, 2))).one("period_spread").why_missing


def test_the_curve_of_a_closing_ritardando() -> None:
    # memory: Friberg & Sundberg 1999, v(x) = [1 + (w^q - 1) x]^(1/q); computed at w = x = .5: .7906 and .8255
    assert ritardando_speed(0.5, 0.5, 2) == pytest.approx(0.7906, abs=1e-4)
    assert ritardando_speed(0.5, 0.5, 3) == pytest.approx(0.8255, abs=1e-4)
    assert ritardando_speed(0, 0.5, 2) == 1
    # a tune that ends along it is heard to slow down, and its drift is told without its last bar
    quarters = LONG.onset[-6:]
    waits = {int(row): 1 / ritardando_speed((k + 1) / 6, 0.5, 2)
             for k, row in enumerate(np.arange(len(LONG))[-len(quarters):])}  # fmt: skip
    reading = heard(LONG, Planted(ioi_noise=0.02, waits=waits))
    assert reading.one("final_slowing").value == pytest.approx(2, abs=0.15)


def test_a_sections_drift_is_scipys_line() -> None:
    # computed: scipy.stats.linregress of ln period over the same steps
    plan = Planted(drift=0.3, ioi_noise=0.02)
    played, reading = play(LONG, plan, 1), heard(LONG, plan)
    rows = reading.named("drift_section")
    assert [row.place.bars for row in rows] == [(1, 8), (9, 16)]
    first = LONG.onset[:-1] < 32
    y = np.log(np.diff(played.onset_s) / np.diff(LONG.onset))[first]
    line = stats.linregress(LONG.onset[:-1][first], y)
    assert rows[0].value == pytest.approx(100 * np.expm1(-line.slope * 31), rel=1e-6)


def test_a_written_tempo_begins_a_section_and_short_music_has_none() -> None:
    music = LONG.with_marks(Marked("tempo", 0, 0, "t1", "", "96"), Marked("tempo", 20, 20, "t2", "", "96"))
    assert [row.place.bars for row in heard(music, Planted(drift=0.2)).named("drift_section")] == [(1, 5), (6, 16)]
    assert heard(millers_cat(), Planted(drift=0.2)).named("drift_section") == ()


def test_the_last_step_is_set_against_its_own_playing() -> None:
    # once whole at 60, then all but the last two notes at 110: the end was heard the first time alone, at its pace
    music = five_fingers(4)
    slow, quick = play(music, Planted(tempo_qpm=60), 1), play(music, Planted(tempo_qpm=110), 2)
    n, kept = len(music), len(music) - 2
    later = slow.release_s.max() + 1
    take = Take.from_notes(
        onset_s=np.append(slow.onset_s, quick.onset_s[:kept] + later),
        release_s=np.append(slow.release_s, quick.release_s[:kept] + later),
        pitch=np.append(slow.pitch, quick.pitch[:kept]), velocity=60 + np.arange(n + kept) % 9,
    )  # fmt: skip
    assert np.all(np.diff(slow.onset_s) > 0)
    last = look(take, music.target()).one("final_slowing")
    assert last.value is None or last.value == pytest.approx(1, abs=0.05)
