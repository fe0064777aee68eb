"""What the page asks decides what is told: a shared line, dots under a slur, voices, a piano of one loudness."""

from __future__ import annotations

import warnings

import numpy as np
import pytest

from fixtures.make.listening import heard
from fixtures.make.music import Marked, five_fingers, gate_posts, snail
from fixtures.make.player import Planted
from keysense.finding import Finding
from keysense.findings import look
from keysense.findings.touch import TOUCH, hold_of, share_of
from keysense.notes import Take
from keysense.targets.target import Target


def taken(onset: list[float], length: list[float], pitch: list[int], hand: list[str], velocity: list[int]) -> tuple:
    """A target and a take of it at 60 quarters a minute, as written."""
    target = Target.from_notes(onset_quarter=onset, duration_quarter=length, pitch=pitch, hand=hand)
    released = np.array(onset) + 0.95 * np.array(length)
    return Take.from_notes(onset_s=onset, release_s=released, pitch=pitch, velocity=velocity), target


def test_a_line_that_the_hands_share_out_has_no_accompaniment() -> None:
    # bars in turn, the left hand softer by ten
    hand = [("R", "L")[k // 4 % 2] for k in range(32)]
    pitch = [(64, 65, 67, 69, 52, 53, 55, 57)[k % 8] for k in range(32)]
    velocity = [(70, 60)[h == "L"] + k % 3 for k, h in enumerate(hand)]
    reading = look(*taken(list(range(32)), [1.0] * 32, pitch, hand, velocity))
    assert reading.named("voicing") == reading.named("melody_lead") == ()


def test_the_tune_is_set_against_the_rest_where_both_sound() -> None:
    # four bars with a held bass of 50 under a tune of 70, then four of the bass hand alone at 110
    onset = [*range(16), *range(0, 16, 4), *range(16, 32)]
    length = [1.0] * 16 + [4.0] * 4 + [1.0] * 16
    pitch = [64, 65, 67, 69] * 4 + [48] * 4 + [50, 52, 53, 55] * 4
    hand = ["R"] * 16 + ["L"] * 20
    velocity = [70 + k % 2 for k in range(16)] + [50, 51, 50, 51] + [110 + k % 2 for k in range(16)]
    order = np.argsort(onset, kind="stable")
    columns = [[column[k] for k in order] for column in (onset, length, pitch, hand, velocity)]
    assert look(*taken(*columns)).one("voicing").value == pytest.approx(
        20
    )  # both sides have a mean of half a unit more


def portato(kind: str) -> tuple[Finding, ...]:
    music = five_fingers(2).with_marks(
        Marked("slur", 0, 7, "s1", "R"), Marked("slur", 8, 15, "s2", "R"), Marked(kind, 8, 16, "d1", "R")
    )
    reading = heard(music, Planted(overlap_s=-0.4 * 60 / 96, overlap_noise_s=0.01))
    assert reading.one("slurs_apart").n == len(reading.one("slurs_apart").places) == (1 if kind == "staccato" else 2)
    return reading.named("overlap_ratio")


def test_dots_under_a_slur_ask_for_no_joining() -> None:
    plain, dotted = portato("staccato")
    assert plain.verdict == "beyond"
    assert dotted.verdict is None
    assert dotted.value == pytest.approx(-0.4, abs=0.05)
    assert [row.verdict for row in portato("tenuto")] == ["beyond", "beyond"]  # a line alone does not part the notes


def test_two_voices_of_a_hand_are_no_two_notes_of_one_touch() -> None:
    upper = gate_posts().target()
    assert heard(gate_posts()).one("two_note_touch_gap") is not None
    for column, values in (("voice", np.arange(16) % 2), ("duration_quarter", 1.0 + np.arange(16) % 2)):
        notes = upper.notes.copy()
        notes[column] = values
        apart = Target(notes, upper.bars, upper.phrases, upper.marks, None, upper.source)
        played = taken(notes["onset_quarter"].tolist(), [1.0] * 16, notes["pitch"].tolist(), ["R"] * 16, [60, 70] * 8)[
            0
        ]
        assert look(played, apart).named("two_note_touch_gap") == ()


def test_four_notes_of_exactly_one_loudness_are_a_piano_of_one_loudness() -> None:
    music = snail().with_marks(Marked("crescendo", 0, 8, "c1", "R"))
    flat = heard(music, Planted(touch_noise=0))
    assert flat.one("rise").verdict == "missing"  # a limit would have bounded it
    for name in ("loudness", "rise", "rise_top"):
        assert "one loudness" in flat.one(name).why_missing
    rows = [heard(music, Planted(touch_noise=5), seed).one("rise") for seed in range(30)]
    assert all(row.value is not None for row in rows)


def test_a_step_of_no_length_has_no_share_and_divides_nothing() -> None:
    touches = np.zeros(3, TOUCH)
    touches["overlap_s"], touches["step_s"] = (0.1, 0.1, 0.0), (0.5, 0.0, 0.0)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert share_of(touches).tolist() == [0.2, 0, 0]
        assert hold_of(touches, 2.0).tolist() == [1.2, 1, 1]
