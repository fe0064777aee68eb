"""Awkward realities of lessons, as far as the findings meet them; capture, studio and pages have tests of their own.

Each test names its reality; the cases are in `fixtures.make.awkward`.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fixtures.make.awkward import CASES, Case, curved, doubled, merged
from fixtures.make.listening import heard
from fixtures.make.music import Marked, both_hands, five_fingers, millers_cat, snail
from fixtures.make.player import Planted, play
from keysense.comparing import compare, shipped_characters
from keysense.findings import Reading, finding_from_json, look
from keysense.findings.reading import RECIPE
from keysense.messages import normalise
from keysense.notes import PEDAL, Take
from keysense.practice import read_practice
from keysense.targets.target import Target

LOUDNESS = ("loudness_contrast", "evenness_loudness", "rise", "voicing", "accent", "arch_loudness", "sigh_loudness")


def reading(number: int) -> Reading:
    """The way from the keys on, with a following of our own."""
    case = CASES[number]
    return look(case.played().take(), case.music.target())


def figures(one: Reading) -> list[tuple[str, float | None]]:
    return [(f.name, None if f.value is None else round(f.value, 6)) for f in one.findings]


@pytest.mark.parametrize("gamma", [0.6, 1.6])
def test_row_1_two_touch_curves_give_the_same_word(gamma: float) -> None:
    case = replace(CASES[1], change=curved(gamma))
    assert look(case.played().take(), case.music.target()).one("loudness_contrast").verdict == "within"


@pytest.mark.parametrize("up", [*range(-12, 0), *range(1, 13)])
def test_rows_2_and_3_another_key_is_told_as_such_and_is_no_slip(up: int) -> None:
    case = replace(CASES[2], planted=replace(CASES[2].planted, up=up))
    one = look(case.played().take(), case.music.target())
    assert set(one.following.shift_semitones.values()) == {up}
    assert one.one("notes_other_pitch").value == 0
    assert one.one("notes_as_written").value == 26


def test_row_3_one_hand_an_octave_off() -> None:
    plain = both_hands(4)
    hand = np.array(plain.hand)
    music = replace(plain, pitch=np.where(hand == "L", 103 - plain.pitch, plain.pitch))  # in contrary motion
    played = play(music, Planted(ioi_noise=0.04), 2)
    left = np.array([music.hand[row] == "L" for row in played.row])
    played.pitch[left] -= 12
    one = look(played.take(), music.target())
    assert one.following.shift_semitones == {"R": 0, "L": -12}
    assert one.one("notes_other_pitch").value == 0


def test_row_4_a_doubled_take_gives_the_findings_of_the_single_one() -> None:
    single = CASES[4].messages()
    target = CASES[4].music.target()
    one, two = (look(normalise(messages), target) for messages in (single, doubled(single)))
    assert "layered" in two.take.meta.flags
    assert figures(one) == figures(two)


def test_row_5_with_touch_off_loudness_is_not_judged_and_the_rest_stands() -> None:
    one = reading(5)
    for finding in one.findings:
        if finding.name in LOUDNESS:
            assert finding.value is None and "one loudness" in finding.why_missing
    assert one.one("tempo").value is not None
    assert one.contours == ()


def test_row_6_a_backing_on_channel_ten_changes_nothing() -> None:
    messages = CASES[4].messages()
    clicks = [(k * 0.625, bytes((0x99, 37, 90))) for k in range(40)]
    clicks += [(k * 0.625 + 0.1, bytes((0x89, 37, 0))) for k in range(40)]
    both = sorted([*messages, *clicks], key=lambda message: message[0])
    target = CASES[4].music.target()
    assert figures(look(normalise(both), target)) == figures(look(normalise(messages), target))


def test_row_7_no_pedal_is_silence_and_half_a_pedal_has_one_threshold() -> None:
    assert not [f for f in reading(7).findings if f.name.startswith("pedal")]
    take = CASES[7].played().take()
    half = np.array([(0.1 * k, 64, value) for k, value in enumerate((0, 20, 40, 63, 40, 20, 0))], PEDAL)
    assert look(Take(take.notes, half, take.meta), CASES[7].music.target()).one("pedal_share") is None


def test_row_8_what_came_before_the_cable_went_is_judged() -> None:
    take = CASES[4].played().take()
    came = Take(take.notes[:14], take.pedals, replace(take.meta, flags=("cut",)))
    one = look(came, CASES[4].music.target())
    assert one.one("notes_as_written").value == 14
    assert one.one("notes_left_out").value == 0


def test_row_9_the_bytes_of_other_pianos_give_the_same_findings() -> None:
    plain = CASES[4].messages()
    other = [(t, bytes((0x90, data[1], 0)) if data[0] == 0x80 else data) for t, data in plain]
    other = sorted([*other, *((0.3 * k, b"\xfe") for k in range(30))], key=lambda message: message[0])
    target = CASES[4].music.target()
    assert figures(look(normalise(other), target)) == figures(look(normalise(plain), target))


@pytest.mark.parametrize("number", [11, 20])
def test_rows_11_and_20_banging_and_improvising_give_no_findings(number: int) -> None:
    one = reading(number)
    assert one.following.lost
    assert one.findings == ()


def test_row_12_the_teachers_part_is_not_the_pupils() -> None:
    # the teacher's bass two octaves below is no part of the target: the pupil's figures stay within 2 %
    music = millers_cat()
    alone = play(music, Planted(ioi_noise=0.05, touch_noise=5), 3).take()
    onset = np.arange(0, 20, 1.25)
    bass = Take.from_notes(onset_s=onset, release_s=onset + 1.1, pitch=[36, 43] * 8, velocity=[50] * 16)
    names = ("onset_s", "release_s", "pitch", "velocity")
    columns = {name: np.concatenate([alone.notes[name], bass.notes[name]]) for name in names}
    solo, duet = look(alone, music.target()), look(Take.from_notes(**columns), music.target())
    for name in ("tempo", "evenness_timing", "evenness_loudness"):
        assert duet.one(name).value == pytest.approx(solo.one(name).value, rel=0.02)
    assert duet.one("notes_extra").value == 16


@pytest.mark.parametrize("hand", ["L", "R"])
def test_row_14_one_hand_alone_leaves_nothing_out_of_the_other(hand: str) -> None:
    case = replace(CASES[14], planted=replace(CASES[14].planted, only=hand))
    one = look(case.played().take(), case.music.target())
    assert one.one("notes_left_out").value == 0
    assert "one hand alone" in one.one("hands_lag").why_missing


def test_row_15_what_was_played_is_judged_where_it_stops_midway() -> None:
    one = reading(15)
    assert one.one("notes_left_out").value == 0
    assert one.one("notes_as_written").value == 14
    assert max(bar for f in one.findings if f.place.bars for bar in f.place.bars) <= 5


def test_row_16_going_back_is_a_place_and_the_last_whole_pass_counts() -> None:
    one = reading(16)
    assert one.one("goings_back").value == 1
    assert one.one("notes_as_written").value == 26
    assert one.one("notes_extra").value == 0


@pytest.mark.parametrize("tempo", [48, 190])
def test_row_17_half_or_double_tempo_makes_no_wait(tempo: float) -> None:
    case = replace(CASES[17], planted=replace(CASES[17].planted, tempo_qpm=tempo))
    one = look(case.played().take(), case.music.target())
    assert one.one("waits").value == 0
    assert one.one("tempo").value == pytest.approx(tempo, rel=0.05)


def test_row_18_a_change_of_tempo_midway_is_its_place_and_no_unevenness() -> None:
    one = reading(18)
    change = one.one("tempo_change")
    assert change.low < 50 < change.high
    assert change.place.bars == (5, 5)
    assert one.one("waits").value == 0
    assert one.one("evenness_timing", "R").verdict != "beyond"


def test_row_18_where_nothing_changed_no_change_is_told() -> None:
    for drift in (0.0, 0.12):
        plan = Planted(ioi_noise=0.06, drift=drift)
        told = sum(heard(millers_cat(), plan, seed).one("tempo_change") is not None for seed in range(100))
        assert told <= 5


def test_row_19_of_two_tunes_the_second_is_no_slip_of_the_first() -> None:
    first, second = (play(music, Planted(ioi_noise=0.04), 3).take() for music in (millers_cat(), snail()))
    one = look(merged(first, second, 2.0), millers_cat().target())
    assert one.one("notes_left_out").value == 0
    assert one.one("notes_as_written").value + one.one("notes_other_pitch").value == 26
    assert one.one("tempo").value == pytest.approx(96, rel=0.05)


def test_row_21_a_version_of_ones_own_is_offered_instead_of_waits() -> None:
    one = reading(21)
    assert one.one("waits").value is None
    assert "own version" in one.one("waits").why_missing
    assert one.one("evenness_timing", "R").value is None
    assert one.one("notes_other_pitch").value == 0


def test_row_21_a_halting_reader_plays_no_version_of_her_own() -> None:
    own = sum(heard(CASES[21].music, Planted(ioi_noise=0.35), seed).one("waits").value is None for seed in range(100))
    assert own <= 5


def test_row_22_eight_notes_have_wide_ranges_or_none() -> None:
    one = reading(22)
    assert one.one("evenness_timing", "R").value is None
    tempo = one.one("tempo")
    assert tempo.high - tempo.low > 3
    assert not [f for f in one.findings if f.limit is not None and f.verdict == "beyond"]


def test_row_23_one_take_claims_no_contrast_between_characters() -> None:
    assert not [f for f in reading(22).findings if f.name.startswith("difference")]
    _, sleepy = shipped_characters()
    same = reading(22)
    assert not {d.outcome for d in compare(same, same, wants_a=sleepy, wants_b=None).dimensions} & {"asked and heard"}


def test_row_24_a_note_that_did_not_speak_is_told_beside_what_was_left_out() -> None:
    unspoken = reading(24).one("notes_unspoken")
    assert (unspoken.value, unspoken.n) == (1, 1)
    loud = replace(CASES[24], planted=replace(CASES[24].planted, loudness=64))
    assert look(loud.played().take(), loud.music.target()).one("notes_unspoken") is None


def test_row_25_repeated_notes_are_no_part_of_a_slurs_overlap() -> None:
    music = five_fingers(2).with_marks(Marked("slur", 0, 7, "s1", "R"))
    music.pitch[3] = music.pitch[2]
    played = play(music, Planted(overlap_s=0.03, overlap_noise_s=0.002), 2)
    played.release_s[2] = played.onset_s[3] - 0.2
    one = look(played.take(), music.target(), following=played.following())
    assert one.one("overlap").n == 6
    assert one.one("overlap").value == pytest.approx(30, abs=3)


def test_row_26_keys_kept_down_are_held_over_and_capped() -> None:
    one = reading(26)
    assert one.one("slurs_held_over").value == 1
    held = CASES[26].music.with_marks(Marked("tenuto", 0, 16, "t1", "R"))
    played = replace(CASES[26], music=held).played()
    assert look(played.take(), held.target()).one("hold_ratio").value <= 2


def test_row_27_joined_by_the_pedal_the_fingers_are_not_judged() -> None:
    assert "pedal was down" in reading(27).one("overlap").why_missing


def test_row_28_grace_notes_are_untimed_and_a_pick_up_is_a_bar_of_its_own() -> None:
    n = 26
    onset = np.concatenate([[-1.0], np.arange(24.0), [8.0]])
    grace = np.array([*[False] * 25, True])
    pitch = np.array([55, *[60, 62, 64, 65, 67, 65] * 4, 71])
    target = Target.from_notes(onset_quarter=onset, duration_quarter=np.where(grace, 0.0, 1.0), pitch=pitch,
                               is_grace=grace, bars_quarter=[-1.0, *np.arange(0, 24, 4.0)])  # fmt: skip
    rng = np.random.default_rng(4)
    seconds = (onset + 1) * 0.6 + rng.normal(0, 0.004, n) - 0.09 * grace
    take = Take.from_notes(onset_s=seconds, release_s=seconds + 0.4, pitch=pitch, velocity=rng.integers(55, 70, n))
    one = look(take, target)
    assert one.one("notes_as_written").value == n
    assert one.one("waits").value == 0
    assert one.one("evenness_timing").value < 4


def test_row_30_gaps_below_the_clocks_step_are_not_told_apart() -> None:
    lag = reading(30).one("hands_lag")
    assert lag.low <= 4 <= lag.high
    assert lag.low <= lag.value - 5 and lag.high >= lag.value + 5


def test_row_36_an_old_reading_keeps_its_figures_beside_the_new_one() -> None:
    one = reading(22)
    old = replace(one, recipe=RECIPE - 1)
    assert old.to_json()["recipe"] != one.to_json()["recipe"]
    assert [finding_from_json(f.to_json()) for f in old.findings] == list(one.findings)


def test_row_37_a_pupils_own_limits_move_the_verdict_and_never_the_figure(tmp_path) -> None:
    own = tmp_path / "practice.toml"
    own.write_text("[evenness_timing]\nvalue = 40\n[hands_lag]\nvalue = 90\n")
    plan = Planted(ioi_noise=0.2, lag_s=0.06, lag_noise_s=0.01)
    usual, hers = (heard(both_hands(8), plan, practice=p) for p in (read_practice(), read_practice(own)))
    assert (usual.one("hands_lag").verdict, hers.one("hands_lag").verdict) == ("beyond", "within")
    assert usual.one("evenness_timing", "R").value == hers.one("evenness_timing", "R").value
    assert hers.one("evenness_timing", "R").verdict == "within"


def test_every_case_is_a_reality_of_its_own() -> None:
    assert len({case.name for case in CASES.values()}) == len(CASES)
    assert all(isinstance(case, Case) and case.number == number for number, case in CASES.items())
