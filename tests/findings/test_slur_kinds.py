"""Joined, just joined, apart, short, held over."""

from __future__ import annotations

import pytest

from fixtures.make.listening import heard
from fixtures.make.music import Marked, five_fingers
from fixtures.make.player import Planted
from keysense.findings.touch_kinds import KINDS, kind_of
from keysense.practice import read_practice
from keysense.words import say_asked_to_child, say_for_teacher
from keysense.words.choosing import one_to_try, outcome_of
from keysense.words.trying import answers, say_try

SLURRED = five_fingers(4).with_marks(*(Marked("slur", q, q + 7, f"s{q}", "R") for q in (0, 8, 16, 24)))
STEP_S = 60 / 96


@pytest.mark.parametrize(("share", "kind"), [
    (0.7, "held_over"), (0.08, "joined"), (-0.02, "just_joined"), (-0.3, "apart"), (-0.7, "short"),
])  # fmt: skip
def test_each_planted_touch_is_its_kind(share: float, kind: str) -> None:
    # computed, 22 professionals: legato overlaps by 25 to 71 ms; the bounds are common practice, no source
    reading = heard(SLURRED, Planted(overlap_s=share * STEP_S, overlap_noise_s=0.01))
    counts = {other: reading.one(f"slurs_{other}") for other in KINDS}
    assert [other for other, found in counts.items() if found is not None] == [kind]
    assert counts[kind].value == len(counts[kind].places) == 4


def test_at_least_nineteen_slurs_of_twenty_are_told_right() -> None:
    for share, kind in ((0.1, "joined"), (-0.025, "just_joined"), (-0.25, "apart"), (-0.7, "short")):
        plan = Planted(overlap_s=share * STEP_S, overlap_noise_s=0.02 if kind != "just_joined" else 0.008)
        right = sum(heard(SLURRED, plan, s).one(f"slurs_{kind}").value for s in range(10))
        assert right >= 38, kind


def test_speed_key_and_loudness_change_no_kind() -> None:
    moved = heard(SLURRED, Planted(tempo_qpm=60, up=3, loudness=90, overlap_s=-0.3))
    assert moved.one("slurs_apart").value == 4


def test_the_bounds_are_those_of_the_table() -> None:
    table = read_practice()
    assert kind_of(table.value("overlap_ratio"), table) == "just_joined"
    assert kind_of(table.value("touch_short") - 1 - 1e-9, table) == "short"


def test_what_is_not_judged_is_of_no_kind() -> None:
    assert not [f for f in heard(SLURRED, Planted(pedal=True)).findings if f.name.startswith("slurs_")]


def test_keys_held_far_over_are_not_what_a_slur_asks_for_and_the_wish_is_to_let_go() -> None:
    for share, outcome in ((0.3, "asked and heard"), (0.9, "asked, not yet heard")):
        reading = heard(SLURRED, Planted(overlap_s=share * STEP_S, overlap_noise_s=0.01))
        assert {outcome_of(finding) for finding in reading.named("overlap_ratio")} == {outcome}
    one = one_to_try(reading.findings)
    assert "held over" in say_for_teacher(one)
    assert "hold on and on" in say_asked_to_child(one)
    joined = heard(SLURRED, Planted(overlap_s=0.1 * STEP_S, overlap_noise_s=0.01)).named("overlap_ratio")[0]
    assert say_try(one) != say_try(joined)
    assert answers(joined, say_try(one))


def test_around_the_bound_of_holding_over_nobody_can_tell() -> None:
    reading = heard(SLURRED, Planted(overlap_s=0.52 * STEP_S, overlap_noise_s=0.12))
    over = [f for f in reading.named("overlap_ratio") if f.value > read_practice().value("touch_held_over")]
    assert over
    assert {outcome_of(finding) for finding in over} <= {"can't tell yet", "asked, not yet heard"}
