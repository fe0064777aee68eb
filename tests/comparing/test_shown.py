"""Somebody may have shown it first: a reason to ask, and hardly ever asked of a pupil who goes back."""

from __future__ import annotations

import numpy as np

from fixtures.make.awkward import CASES, shown_then_played
from fixtures.make.player import Planted, play
from keysense.comparing.shown import shown_first
from keysense.findings.heard import Heard
from keysense.following import follow
from keysense.notes import Take
from keysense.practice import read_practice

CAT = CASES[13].music


def asked(take: Take) -> int | None:
    target = CAT.target()
    return shown_first(Heard(take, target, follow(target, take), read_practice()))


def test_a_phrase_shown_by_a_steady_hand_is_asked_about_at_its_place() -> None:
    found = [asked(shown_then_played(CAT, 0.02, 0.16, seed)) for seed in range(12)]
    assert sum(note == 14 for note in found) >= 9


def test_a_pupil_who_goes_back_is_hardly_ever_asked() -> None:
    alike = [asked(shown_then_played(CAT, 0.1, 0.1, seed)) for seed in range(20)]
    steadier = [asked(shown_then_played(CAT, 0.16, 0.05, seed)) for seed in range(10)]
    once = [asked(play(CAT, Planted(ioi_noise=0.1), seed).take()) for seed in range(10)]
    assert np.mean([note is not None for note in alike]) <= 0.1
    assert not any(note is not None for note in steadier + once)
