"""Joined or let go: slurs and articulation marks."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.make.listening import heard
from fixtures.make.music import Marked, Music, five_fingers
from fixtures.make.player import Planted, play
from keysense.findings import look
from keysense.findings.heard import Heard
from keysense.findings.touch import TOUCH, hold_of, touches_of
from keysense.following.following import PAIR, Following
from keysense.notes import PEDAL, Take
from keysense.practice import read_practice
from keysense.targets.target import Mark, Target

SLUR = Marked("slur", 0, 15, "s1", "R")
DOTS = Marked("staccato", 16, 24, "t1", "R")


@pytest.mark.parametrize("overlap_ms", [-60, -20, 0, 20, 60])
def test_the_planted_overlap_is_found_slur_by_slur(overlap_ms: float) -> None:
    music = five_fingers(4).with_marks(SLUR, Marked("slur", 16, 23, "s2", "R"))
    reading = heard(music, Planted(overlap_s=overlap_ms / 1000))
    assert [row.place.mark for row in reading.named("overlap")] == ["s1", "s2"]
    for row in reading.named("overlap"):
        assert row.value == pytest.approx(overlap_ms, abs=1e-6)
        assert row.unit == "ms"
    assert reading.one("overlap_ratio").value == pytest.approx(overlap_ms / 1000 / (60 / 96), abs=1e-6)
    assert reading.one("overlap").n == 15


def test_overlap_in_order_of_what_was_planted() -> None:
    music = five_fingers(4).with_marks(SLUR)
    values = [heard(music, Planted(overlap_s=s, overlap_noise_s=0.01)).one("overlap").value for s in (-0.02, 0, 0.02)]
    assert values == sorted(values)


def test_hold_ratio_is_one_plus_overlap_ratio() -> None:
    # published definition (Bresin & Battel 2000): ratio = key-down time / IOI = 1 + KOR
    music = five_fingers(4).with_marks(SLUR, Marked("tenuto", 0, 15, "t1", "R"))
    reading = heard(music, Planted(overlap_s=-0.1))
    assert reading.one("hold_ratio").value == pytest.approx(1 + reading.one("overlap_ratio").value, abs=1e-9)


def test_published_staccato_is_apart_and_repeated_notes_are_let_go_too() -> None:
    # published (Bresin & Battel 2000): staccato about 40 % of the step, repeated notes about 60 %
    reading = heard(five_fingers(4).with_marks(DOTS), Planted(hold=0.4, ioi_noise=0.05))
    found = reading.one("hold_ratio", "R", "t1")
    assert found.value == pytest.approx(0.4)
    assert found.verdict == "within"
    long = heard(five_fingers(4).with_marks(DOTS), Planted(hold=0.95, hold_noise=0.02)).one("hold_ratio")
    assert long.verdict == "beyond"


def test_dots_one_a_note_make_one_run() -> None:
    dots = [Marked("staccato", q, q + 1, f"t{q}", "R") for q in (4, 5, 6, 7, 12, 13, 14)]
    rows = heard(five_fingers(4).with_marks(*dots), Planted(hold=0.5)).named("hold_ratio")
    assert [(row.place.mark, row.place.bars, row.n) for row in rows] == [("t4", (2, 2), 4), ("t12", (4, 4), 3)]


TWO_NOTE_SLURS = [Marked("slur", q, q + 1, f"s{q}", "R") for q in range(0, 24, 2)]


def test_two_note_slurs_borrow_the_scatter_of_the_others() -> None:
    planted = Planted(overlap_s=0.03, overlap_noise_s=0.01)
    rows = heard(five_fingers(4).with_marks(*TWO_NOTE_SLURS), planted).named("overlap")
    assert len(rows) == 12
    for row in rows:
        assert row.n == 1
        assert 0 < row.high - row.low < 100
    assert np.median([row.value for row in rows]) == pytest.approx(30, abs=10)


def test_the_borrowed_interval_holds_as_often_as_it_says() -> None:
    music, held = five_fingers(4).with_marks(*TWO_NOTE_SLURS), []
    for seed in range(60):
        rows = heard(music, Planted(overlap_s=0.03, overlap_noise_s=0.015), seed).named("overlap")
        held += [row.low <= 30 <= row.high for row in rows]
    assert 0.93 <= np.mean(held) <= 0.97


def test_lone_dots_are_judged_where_there_are_enough_of_them() -> None:
    dots = [Marked("staccato", q, q + 1, f"t{q}", "R") for q in range(0, 32, 2)]
    rows = heard(five_fingers(4).with_marks(*dots), Planted(hold=0.4, hold_noise=0.05)).named("hold_ratio")
    assert len(rows) == 16
    assert np.mean([row.verdict == "within" for row in rows]) == 1


def test_speed_key_and_loudness_change_no_ratio() -> None:
    music = five_fingers(4).with_marks(SLUR, DOTS)
    plain, other = (
        heard(music, Planted(hold=0.5, hold_noise=0.05, **more)) for more in ({}, {"tempo_qpm": 140, "up": 4})
    )
    assert other.one("hold_ratio").value == pytest.approx(plain.one("hold_ratio").value)


def test_repeated_notes_cannot_overlap_and_are_left_out() -> None:
    onset = np.arange(9.0)
    pitch = np.array([60, 60, 60, 60, 60, 62, 64, 65, 67])
    slur = Marked("slur", 0, 8, "s1", "R")
    music = Music("Repeated", onset, np.ones(9), pitch, ("R",) * 9, np.array([0.0, 8.0]), (), (slur,))
    found = heard(music, Planted(overlap_s=0.01)).one("overlap")
    assert found.n == 4
    only = heard(Music("One key", onset, np.ones(9), np.full(9, 60), ("R",) * 9, np.array([0.0, 8.0]), (), music.marks))
    assert only.one("overlap").value is None
    assert "repeated" in only.one("overlap").why_missing


def test_with_the_pedal_down_fingers_are_not_judged() -> None:
    found = heard(five_fingers(4).with_marks(SLUR), Planted(pedal=True)).one("overlap")
    assert found.value is None
    assert "pedal" in found.why_missing


def test_a_pedal_below_half_is_up() -> None:
    played = play(five_fingers(4).with_marks(SLUR), Planted(overlap_s=0.02), 1)
    take = played.take()
    half = Take(take.notes, np.array([(0.0, 64, 40)], PEDAL), take.meta)
    assert look(half, played.music.target(), following=played.following()).one("overlap").n == 15


def test_a_slur_of_two_notes_is_too_short_to_judge() -> None:
    found = heard(five_fingers(2).with_marks(Marked("slur", 0, 1, "s1", "R"))).one("overlap")
    assert found.value is None
    assert "takes 3" in found.why_missing
    few = heard(five_fingers(2).with_marks(Marked("staccato", 0, 2, "t1", "R"))).one("hold_ratio")
    assert few.value is None


def test_keys_held_on_are_capped() -> None:
    touches = np.zeros(1, TOUCH)
    touches["overlap_s"], touches["step_s"] = 5.0, 0.5
    assert hold_of(touches, 2.0).tolist() == [2.0]


def test_a_note_written_on_past_the_next_is_no_step_of_the_tune() -> None:
    # a held note under a moving voice of the same hand, all in one voice
    target = Target.from_notes(
        onset_quarter=[0, 0, 1, 2, 3, 4], duration_quarter=[4, 1, 1, 1, 1, 1], pitch=[60, 67, 69, 71, 72, 74],
        hand=["R"] * 6, bars_quarter=[0], marks=[Mark("slur", 0, 4, "s1", "R")],
    )  # fmt: skip
    onset = np.array([0, 0, 1, 2, 3, 4]) * 0.5
    take = Take.from_notes(onset_s=onset, release_s=onset + np.array([2.0, 0.52, 0.52, 0.52, 0.52, 0.52]),
                           pitch=target.notes["pitch"], velocity=[60] * 6)  # fmt: skip
    pairs = np.array([(k, k, 0, "match", 1.0) for k in range(6)], PAIR)
    following = Following(pairs, np.zeros(0, np.int32), [], {}, None, 1.0, False)
    touches = touches_of(Heard(take, target, following, read_practice()), "R")
    assert touches["overlap_s"] == pytest.approx(0.02)
    assert look(take, target, following=following).one("overlap").value == pytest.approx(20)
