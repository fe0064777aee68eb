"""Are the steps even in time: planted, invariant, too short, and against published and computed figures."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fixtures.make.listening import heard
from fixtures.make.music import both_hands, five_fingers, millers_cat, pattern, stairs
from fixtures.make.player import Planted, play
from keysense.comparing import Character
from keysense.findings import look
from keysense.findings.shape import blocks_of, fit_by_block
from keysense.findings.stats import chi_interval
from keysense.notes import Take
from keysense.targets.target import Target


def median_over_seeds(music, planted, name="evenness_timing", seeds=40) -> float:
    return float(np.median([heard(music, planted, seed).one(name).value for seed in range(seeds)]))


@pytest.mark.parametrize("planted", [0.04, 0.08, 0.15])
@pytest.mark.parametrize("arch", [0.0, 0.2])
def test_planted_scatter_is_found_even_in_a_breathing_tune(planted: float, arch: float) -> None:
    found = median_over_seeds(millers_cat(), Planted(ioi_noise=planted, arch=arch))
    assert found == pytest.approx(100 * planted, rel=0.12)


def test_the_robust_form_agrees_and_one_held_note_moves_neither_much() -> None:
    music = five_fingers(8)
    quiet = heard(music, Planted(ioi_noise=0.06), 3)
    waited = heard(music, Planted(ioi_noise=0.06, waits={20: 3.0}), 3)
    for name in ("evenness_timing", "evenness_timing_robust"):
        assert waited.one(name).value == pytest.approx(quiet.one(name).value, rel=0.1)


def test_no_shape_no_speed_no_key_and_no_loudness_changes_it() -> None:
    music = pattern([1, 0.5, 0.5, 2] * 10)
    plain = heard(music, Planted(ioi_noise=0.07), 5).one("evenness_timing")
    for other in (Planted(ioi_noise=0.07, tempo_qpm=40), Planted(ioi_noise=0.07, up=-7, loudness=30)):
        assert heard(music, other, 5).one("evenness_timing").value == pytest.approx(plain.value)


def test_hands_are_never_mixed() -> None:
    reading = heard(both_hands(12), Planted(ioi_noise=0.03, lag_s=0.03, lag_noise_s=0.03))
    right, left = reading.one("evenness_timing", "R").value, reading.one("evenness_timing", "L").value
    assert right < 4.5 < left


def test_too_few_steps_are_missing_and_say_so() -> None:
    found = heard(five_fingers(1), Planted(ioi_noise=0.05)).one("evenness_timing")
    assert found.value is None
    assert "it takes" in found.why_missing


def test_the_definition_itself_on_the_same_numbers() -> None:
    played = play(five_fingers(4), Planted(ioi_noise=0.08, drift=0.2), 11)
    y = np.log(np.diff(played.onset_s))  # every written step is a quarter; the last note starts the last bar
    x = np.arange(32.0)
    rss = p = 0.0
    for part in np.array_split(np.arange(32), 2):  # no phrases: blocks of sixteen steps
        line = np.polynomial.Polynomial.fit(x[part], y[part], 2)
        rss += float(((y[part] - line(x[part])) ** 2).sum())
        p += 3
    found = look(played.take(), played.music.target(), following=played.following()).one("evenness_timing")
    assert found.value == pytest.approx(100 * math.sqrt(rss / (32 - p)), rel=1e-9)
    assert (found.low, found.high) == pytest.approx(chi_interval(found.value, 26))


def test_onset_jitter_is_another_plant_that_the_interval_still_holds_nine_times_in_ten() -> None:
    # neighbours share a displaced onset, so the scatter of ln IOI is sqrt(2) * jitter / step; a smooth phrase shape
    # takes next to nothing of such scatter away, so the figure reads sqrt(n / (n - p)) high
    music, held = five_fingers(8).with_phrases((0, 32), (32, 68)), 0
    for seed in range(200):
        found = heard(music, Planted(tempo_qpm=60, onset_jitter_s=0.03), seed).one("evenness_timing")
        held += found.low <= 100 * math.sqrt(2) * 0.03 * math.sqrt(63 / 57) <= found.high
    assert held / 200 >= 0.84  # .90 minus what 200 seeds may do by chance


def test_a_free_character_is_not_asked_for_evenness() -> None:
    free = Character("floating", wishes={"evenness": "free"})
    reading = heard(five_fingers(4), Planted(ioi_noise=0.05), character=free)
    for name in ("evenness_timing", "evenness_timing_robust", "sd_ioi", "cv_ioi"):
        assert reading.one(name).value is None
        assert reading.one(name).why_missing


RUNS_MS = ([0, 124, 250, 379, 500, 627, 748, 876], [0, 126, 253, 381, 502, 629, 752, 879],
           [0, 123, 248, 378, 498, 624, 746, 873])  # fmt: skip


@pytest.mark.parametrize(("onsets_ms", "sd_ms"), [*zip(RUNS_MS, (3.237, 2.573, 3.352), strict=True)])
def test_sd_ioi_of_three_computed_runs(onsets_ms: list[int], sd_ms: float) -> None:
    # computed check values for the method of van Vugt, Jabusch, Altenmueller 2012 (Front Psychol 3:495)
    onset = np.array(onsets_ms) / 1000
    pitch = [60, 62, 64, 65, 67, 69, 71, 72]
    take = Take.from_notes(onset_s=onset, release_s=onset + 0.1, pitch=pitch, velocity=[60] * 8)
    onset_q = np.arange(8) / 4
    target = Target.from_notes(onset_quarter=onset_q, duration_quarter=[0.25] * 8, pitch=pitch, bars_quarter=[0])
    reading = look(take, target)
    assert reading.one("sd_ioi").value == pytest.approx(sd_ms, abs=0.001)
    assert reading.one("sd_ioi").n == 7
    ratio = reading.one("cv_ioi").value / reading.one("sd_ioi").value
    assert ratio == pytest.approx(100 / np.diff(onsets_ms).mean())


@pytest.mark.parametrize(("sd_ms", "cv"), [(8.1, 6.5), (8.9, 7.1)])
def test_published_spread_of_professional_scales_is_found_when_planted(sd_ms: float, cv: float) -> None:
    # published (Jabusch 2006, as cited): 13 professional pianists, IOI 125 ms, right hand: 8.1 ms up, 8.9 ms down
    music = pattern([0.25] * 64)
    planted = Planted(tempo_qpm=120, ioi_noise=sd_ms / 125)
    assert median_over_seeds(music, planted, "sd_ioi") == pytest.approx(sd_ms, rel=0.04)
    assert median_over_seeds(music, planted, "cv_ioi") == pytest.approx(cv, rel=0.04)


@pytest.mark.parametrize(("n", "low", "high"), [(7, 0.64, 2.2), (14, 0.73, 1.61), (28, 0.79, 1.36)])
def test_computed_factors_of_a_spread_known_from_n_intervals(n: int, low: float, high: float) -> None:
    # computed: 95 % factors of a standard deviation
    assert chi_interval(1.0, n - 1) == pytest.approx((low, high), abs=0.006)


def test_the_warm_up_has_its_run() -> None:
    reading = heard(stairs(), Planted(tempo_qpm=80, ioi_noise=0.06))
    assert reading.one("cv_ioi").n == 24
    assert reading.one("evenness_timing").value is not None


def test_blocks_without_phrases_hold_about_sixteen_steps() -> None:
    sizes = np.bincount(blocks_of(np.zeros(50, int), np.zeros(50, int), has_phrases=False))
    assert sizes.tolist() == [17, 17, 16]
    fitted, p = fit_by_block(np.arange(2.0), np.array([3.0, 5.0]), np.array([0, 0]))
    assert p == 2
    assert fitted == pytest.approx([3, 5])


def test_the_figure_is_that_of_numpys_least_squares() -> None:
    # computed: numpy.polyfit, a quadratic for each phrase through ln period, on the same steps
    music = five_fingers(8).with_phrases((0, 16), (16, 32), (32, 68))
    played = play(music, Planted(ioi_noise=0.05, arch=0.1), 4)
    found = look(played.take(), music.target(), following=played.following()).one("evenness_timing")
    quarter, y = music.onset[:-1], np.log(np.diff(played.onset_s) / np.diff(music.onset))
    inside = ~np.isin(quarter, (15, 31))  # all but the steps across phrase ends
    n, rss, p = 0, 0.0, 0
    for first, end in ((0, 16), (16, 32), (32, 68)):
        use = inside & (quarter >= first) & (quarter < end)
        curve = np.polyfit(quarter[use] - first, y[use], 2)
        rss += float(((y[use] - np.polyval(curve, quarter[use] - first)) ** 2).sum())
        n, p = n + int(use.sum()), p + 3
    assert found.n == n
    assert found.value == pytest.approx(100 * np.sqrt(rss / (n - p)), rel=1e-6)
