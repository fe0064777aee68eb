"""Spots: true ones are listed, chance seldom makes one, pupils are counted and never named or ordered."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats

from fixtures.make.listening import heard
from fixtures.make.many import caught_takes
from fixtures.make.music import five_fingers, millers_cat
from fixtures.make.player import Planted
from keysense.comparing.spots import Caught, caught_in, piece_spots, spots
from keysense.findings import look
from keysense.notes import Take
from keysense.targets.target import Target

MUSIC = five_fingers(4)  # 32 quarters and a last note
TARGET = MUSIC.target()


@pytest.mark.parametrize(
    ("takes", "rule", "false_lists", "true_spot"), [(5, 3, 0.019, 0.68), (8, 4, 0.005, 0.83), (12, 4, 0.031, 0.98)]
)
def test_the_two_rules_have_the_computed_rates(takes: int, rule: int, false_lists: float, true_spot: float) -> None:
    one = scipy.stats.binom.sf(rule - 1, takes, 0.04)
    assert 1 - (1 - one) ** 32 == pytest.approx(false_lists, abs=0.001)  # C
    assert scipy.stats.binom.sf(rule - 1, takes, 0.6) == pytest.approx(true_spot, abs=0.006)  # C


@pytest.mark.parametrize(("takes", "true_spot"), [(5, 0.68), (8, 0.83), (12, 0.98)])
def test_chance_makes_few_lists_and_true_spots_are_listed(takes: int, true_spot: float) -> None:
    lists = [spots(caught_takes(takes, seed=s, spots={20: 0.6}), TARGET).spots for s in range(400)]
    assert np.mean([any(spot.quarter != 20 for spot in listed) for listed in lists]) <= 0.045
    assert np.mean([any(spot.quarter == 20 for spot in listed) for listed in lists]) >= true_spot - 0.08


@pytest.mark.parametrize("rate", [0.1, 0.2, 0.3])
def test_a_pupil_caught_everywhere_has_no_spots_by_chance(rate: float) -> None:
    lists = [spots(caught_takes(8, seed=s, rate=rate), TARGET).spots for s in range(300)]
    assert np.mean([bool(listed) for listed in lists]) <= 0.06


def test_a_spot_is_told_with_its_bar_beat_takes_and_kinds() -> None:
    readings = [
        heard(MUSIC, Planted(ioi_noise=0.05, waits={21: 2.2} if k < 3 else {}, other={21: 70} if k == 3 else {}), k)
        for k in range(5)
    ]
    takes = [caught_in(r.findings, r.following, r.target) for r in readings]
    found = spots(takes, readings[0].target)
    (spot,) = found.spots
    assert (spot.bar, spot.beat_quarter, spot.takes, spot.of) == (6, 1.0, 4, 5)
    assert spot.kinds == {"waited": 3, "another note": 1}
    assert spot.state == "there"
    assert (found.takes, found.places) == (5, 33)


def test_going_back_is_caught_where_the_player_broke_off() -> None:
    reading = heard(MUSIC, Planted(ioi_noise=0.03, restart=(13, 8)), 2)
    caught = caught_in(reading.findings, reading.following, reading.target)
    assert caught.kinds[13.0] == {"went back"}


@pytest.mark.parametrize(("kind", "row"), [("put right", 5), ("struck again", 8)])
def test_a_note_put_right_or_struck_again_in_each_take_is_a_spot(kind: str, row: int) -> None:
    """In four of five takes a note is put right (its upper neighbour comes first), or comes twice; else all is well."""
    tune = [60, 64, 62, 65, 64, 67, 65, 69, 67, 71, 69, 72, 71, 67, 64, 60]
    target = Target.from_notes(onset_quarter=np.arange(16), duration_quarter=np.ones(16), pitch=tune, tempo_qpm=90)
    takes = []
    for seed in range(5):
        step = 0.66 * np.exp(np.random.default_rng(seed).normal(0, 0.04, 17))
        more = [tune[row] + 2 if kind == "put right" else tune[row]] if seed < 4 else []
        pitch, onset = [*tune[:row], *more, *tune[row:]], np.cumsum(step)[: 16 + len(more)]
        take = Take.from_notes(onset_s=onset, release_s=onset + 0.3, pitch=pitch, velocity=[60] * len(pitch))
        reading = look(take, target)
        takes.append(caught_in(reading.findings, reading.following, target))
    (spot,) = spots(takes, target).spots
    assert (spot.quarter, spot.takes, spot.of) == (row, 4, 5)
    assert spot.kinds == {kind: 4}
    assert spots([*takes[:2], *[takes[4]] * 3], target).spots == ()  # twice of five is none


def test_what_was_not_played_is_no_chance_to_be_caught() -> None:
    half = frozenset(float(k) for k in range(16))
    takes = [Caught(half, {3.0: frozenset({"waited"})}) for _ in range(3)]
    takes += [Caught(frozenset(float(k) for k in range(16, 33))) for _ in range(6)]
    (spot,) = spots(takes, TARGET).spots
    assert (spot.takes, spot.of) == (3, 3)  # 3 of the 3 takes that came there


def test_a_spot_that_four_takes_went_through_is_gone() -> None:
    everywhere = frozenset(float(k) for k in range(33))
    bad, good = Caught(everywhere, {9.0: frozenset({"left out"})}), Caught(everywhere)
    (spot,) = spots([bad] * 5 + [good] * 4, TARGET).spots
    assert spot.state == "gone"
    (spot,) = spots([bad] * 5 + [good] * 3, TARGET).spots
    assert spot.state == "there"
    assert spots([bad] * 5 + [good] * 12, TARGET).spots == ()  # only the newest twelve are looked at


def test_too_few_takes_say_so_and_a_lost_take_is_none() -> None:
    found = spots(caught_takes(2, seed=1), TARGET)
    assert found.spots == () and "3 takes" in found.why and "2 came" in found.why
    assert spots([Caught(frozenset())] * 9, TARGET).takes == 0


def test_a_tricky_spot_of_a_piece_needs_three_pupils_and_keeps_no_name() -> None:
    caught = [caught_takes(6, seed=s, rate=0.0, spots={20: 1.0}) for s in range(2)]
    free = [caught_takes(6, seed=s, rate=0.0) for s in range(2)]
    once = [caught_takes(1, seed=9, rate=0.0)]
    assert piece_spots(caught + free, TARGET) == ()
    (spot,) = piece_spots([*caught, *free, caught_takes(5, seed=5, rate=0.0, spots={22: 1.0}), *once], TARGET)
    assert (spot.bar, spot.pupils, spot.of) == (6, 3, 5)  # who played it once is not counted
    assert set(vars(spot)) == {"bar", "pupils", "of"}


def test_spots_stand_in_the_order_of_the_music_whoever_plays() -> None:
    pupils = [caught_takes(6, seed=s, rate=0.0, spots={28: 1.0, 2: 1.0, 14: 1.0}) for s in range(4)]
    assert [spot.bar for spot in piece_spots(pupils, TARGET)] == [1, 4, 8]
    assert piece_spots(pupils[::-1], TARGET) == piece_spots(pupils, TARGET)


def test_erasing_a_pupil_leaves_the_counts_of_the_others() -> None:
    pupils = [caught_takes(6, seed=s, rate=0.0, spots={20: 1.0}) for s in range(4)]
    (spot,) = piece_spots(pupils[1:], TARGET)
    assert (spot.pupils, spot.of) == (3, 3)


def test_an_ordinary_tune_played_well_has_no_spots() -> None:
    cat = millers_cat()
    readings = [heard(cat, Planted(ioi_noise=0.08, arch=0.15, breath_time=0.3), s) for s in range(8)]
    takes = [caught_in(r.findings, r.following, r.target) for r in readings]
    assert spots(takes, readings[0].target).spots == ()
