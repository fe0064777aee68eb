"""Which notes sounded as written, where it waited, where it went back, where it breathed."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.make.listening import heard
from fixtures.make.music import both_hands, five_fingers, millers_cat, pattern, snail
from fixtures.make.player import Planted
from keysense.findings import look
from keysense.notes import Take
from keysense.targets.target import Target


def counts(reading) -> dict[str, float]:
    return {row.name: row.value for row in reading.findings if row.unit == "count"}


def test_planted_slips_are_counted_in_their_bars() -> None:
    reading = heard(millers_cat(), Planted(other={2: 69, 9: 60}, left_out=(12,), extra=(4, 20)))
    found = counts(reading)
    assert found["notes_as_written"] == 23
    assert (found["notes_other_pitch"], found["notes_left_out"], found["notes_extra"]) == (2, 1, 2)
    assert [place.bars for place in reading.one("notes_other_pitch").places] == [(1, 1), (3, 3)]
    assert [place.bars for place in reading.one("notes_left_out").places] == [(4, 4)]
    assert [place.bars for place in reading.one("notes_extra").places] == [(2, 2), (6, 6)]
    assert reading.one("notes_other_pitch").places[0].mark == reading.target.notes["id"][2]
    assert reading.one("notes_as_written").low is None


@pytest.mark.parametrize(
    "planted", [Planted(up=3), Planted(tempo_qpm=40), Planted(loudness=100), Planted(ioi_noise=0.1)]
)
def test_key_speed_and_loudness_are_no_slips(planted: Planted) -> None:
    assert counts(heard(millers_cat(), planted))["notes_as_written"] == 26


def test_the_last_whole_pass_is_judged_and_the_going_back_is_a_place() -> None:
    reading = heard(millers_cat(), Planted(other={5: 70}, restart=(9, 0)))
    assert counts(reading)["notes_as_written"] == 25
    assert counts(reading)["goings_back"] == 1
    assert reading.one("goings_back").places[0].bars == (1, 1)
    assert counts(reading)["waits"] == 0
    assert reading.one("tempo").value == pytest.approx(96, rel=1e-6)


def played_by_hand(pitch: list[int], onset_s: list[float]) -> Take:
    onset = np.array(onset_s)
    return Take.from_notes(onset_s=onset, release_s=onset + 0.3, pitch=pitch, velocity=[60] * len(pitch))


def test_a_note_put_right_and_one_struck_again_are_told() -> None:
    tune = [60, 64, 62, 65, 64, 67, 65, 69, 67, 71, 69, 72, 71, 67, 64, 60]
    target = Target.from_notes(onset_quarter=np.arange(16), duration_quarter=np.ones(16), pitch=tune, tempo_qpm=90)
    beats = (np.arange(16) * 0.66).tolist()
    put_right = look(
        played_by_hand([*tune[:5], 65, *tune[5:]], [*beats[:5], 2.9, *(t + 0.3 for t in beats[5:])]), target
    )
    again = look(played_by_hand([*tune[:9], *tune[8:]], [*beats[:9], *(t + 0.66 for t in beats[8:])]), target)
    faultless = look(played_by_hand(tune, beats), target)
    assert put_right.one("notes_corrected").value == 1
    assert [place.mark for place in put_right.one("notes_corrected").places] == ["n5"]
    assert put_right.one("notes_again") is None
    assert put_right.one("notes_as_written").value == 16
    assert again.one("notes_again").value == 1
    assert [place.mark for place in again.one("notes_again").places] == ["n8"]
    assert again.one("notes_corrected") is None
    assert faultless.one("notes_corrected") is None
    assert faultless.one("notes_again") is None


def test_a_tune_played_three_times_through_goes_back_nowhere() -> None:
    first = heard(millers_cat(), Planted())
    once = first.take
    rows = [once.notes.copy() for _ in range(3)]
    for k, again in enumerate(rows):
        for name in ("onset_s", "release_s"):
            again[name] += k * (once.duration_s + 1.5)
    reading = look(Take(np.concatenate(rows), once.pedals), first.target)
    assert len(reading.following.passes) == 3
    assert reading.one("goings_back").value == 0
    assert counts(reading)["notes_as_written"] == 26


def test_a_planted_wait_is_one_place_in_the_bar_of_the_late_note() -> None:
    music = five_fingers(4)
    reading = heard(music, Planted(waits={13: 1.8}, ioi_noise=0.05))
    found = reading.one("waits")
    assert found.value == 1
    assert (found.places[0].bars, found.places[0].mark) == ((4, 4), "n13")


@pytest.mark.parametrize(("late_s", "waits"), [(2.0, 1), (0.0, 0)])
def test_a_wait_before_a_note_that_was_then_left_out_is_told_at_the_next(late_s: float, waits: int) -> None:
    for seed in range(12):
        rng = np.random.default_rng(seed)
        pitch = 60 + np.cumsum(rng.choice([-2, -1, 1, 2], 32))
        target = Target.from_notes(onset_quarter=np.arange(32), duration_quarter=np.ones(32), pitch=pitch, tempo_qpm=90)
        beats = np.cumsum(rng.normal(0.66, 0.02, 32))
        gone = int(rng.integers(5, 24))
        beats[gone:] += late_s
        reading = look(played_by_hand(np.delete(pitch, gone).tolist(), np.delete(beats, gone).tolist()), target)
        assert reading.one("notes_left_out").value == 1
        assert reading.one("waits").value == waits
        assert [place.mark for place in reading.one("waits").places] == [f"n{gone + 1}"] * waits


@pytest.mark.parametrize(("noise", "least"), [(0.08, 0.9), (0.15, 0.7)])
def test_a_stall_of_four_fifths_is_heard(noise: float, least: float) -> None:
    music, planted = five_fingers(4), Planted(waits={13: 1.8}, ioi_noise=noise)
    found = [heard(music, planted, seed).one("waits").places for seed in range(60)]
    seen = [any(place.mark == "n13" for place in places) for places in found]
    assert np.mean(seen) >= least


@pytest.mark.parametrize(("noise", "most"), [(0.08, 0.01), (0.15, 0.22)])
def test_waits_are_seldom_invented(noise: float, most: float) -> None:
    found = [heard(five_fingers(4), Planted(ioi_noise=noise), seed).one("waits").value for seed in range(60)]
    assert np.mean(found) <= most


def test_half_speed_rhythm_and_phrase_ends_are_no_waits() -> None:
    assert counts(heard(pattern([1, 0.5, 0.5, 2] * 6), Planted(tempo_qpm=40)))["waits"] == 0
    assert counts(heard(millers_cat(), Planted(breath_time=0.8)))["waits"] == 0


def test_one_hand_alone_leaves_nothing_out_of_the_other() -> None:
    reading = heard(both_hands(4), Planted(only="R"))
    assert counts(reading)["notes_left_out"] == 0
    assert counts(reading)["notes_as_written"] == 17


@pytest.mark.parametrize(
    ("planted", "how"),
    [
        (Planted(breath_time=0.6), "time"),
        (Planted(breath_air=0.5), "let go"),
        (Planted(breath_time=0.6, breath_air=0.5), "both"),
    ],
)
def test_a_breath_is_time_taken_or_the_note_let_go_or_both(planted: Planted, how: str) -> None:
    reading = heard(millers_cat(), planted)
    found = reading.one("breath")
    assert (found.value, found.n) == (1, 1)
    assert (found.places[0].bars, found.places[0].how) == ((4, 4), how)
    assert reading.one("breath_time").value == pytest.approx(100 * planted.breath_time, abs=1e-6)
    assert reading.one("breath_air").value == pytest.approx(planted.breath_air, abs=1e-6)


def test_a_detached_take_does_not_breathe_by_being_detached() -> None:
    assert heard(millers_cat(), Planted(hold=0.4)).one("breath").value == 0


def test_without_phrases_there_is_no_breath_to_hear() -> None:
    for name in ("breath", "breath_time", "breath_air"):
        assert heard(snail()).one(name).value is None


@pytest.mark.parametrize("phrases", [[(0, 8)], [(0, 8), (8, 24)], [(0, 8), (16, 24)]])
def test_a_phrase_ends_where_it_is_marked_to_whether_another_begins_there_or_not(phrases: list) -> None:
    tune = [60, 64, 62, 65, 64, 67, 65, 69, 67, 71, 69, 72, 71, 67, 64, 60, 62, 65, 64, 67, 65, 62, 64, 60]
    target = Target.from_notes(
        onset_quarter=np.arange(24), duration_quarter=np.ones(24), pitch=tune, tempo_qpm=90, phrases=phrases
    )
    onset_s = np.arange(24) * 0.66 + np.where(np.arange(24) >= 8, 0.5, 0.0)
    reading = look(played_by_hand(tune, onset_s.tolist()), target)
    assert reading.one("breath").value == 1
    assert reading.one("waits").value == 0
