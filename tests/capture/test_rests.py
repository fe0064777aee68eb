"""Silences that the page writes do not end a take."""

from __future__ import annotations

import pytest

from keysense.capture.rests import patient_silence, written_rests
from keysense.targets.target import Target


def target(tempo_qpm: float | None = 60) -> Target:
    # right: C4 1, D4 1, (rest 4), E4 1 | left: C3 held under the first two, so that no hand sounds from 2 to 6
    return Target.from_notes(
        onset_quarter=[0, 0, 1, 6, 6.5],
        duration_quarter=[1, 2, 1, 1, 0.5],
        pitch=[60, 48, 62, 64, 65],
        tempo_qpm=tempo_qpm,
    )


def test_the_note_before_a_rest_of_all_hands_is_known() -> None:
    assert written_rests(target()) == {62: 4.0}


def test_the_end_of_the_piece_is_no_rest() -> None:
    piece = Target.from_notes(onset_quarter=[0, 1], duration_quarter=[1, 1], pitch=[60, 62])
    assert written_rests(piece) == {}
    assert written_rests(Target.from_notes(onset_quarter=[], duration_quarter=[], pitch=[])) == {}


def test_a_rest_is_waited_out_even_by_a_slow_player() -> None:
    silence = patient_silence(target(), 3.0)
    assert silence(62) == pytest.approx(9.0), "4 quarters at half the written pace, and a second"
    assert silence(64) == 3.0
    assert patient_silence(target(240), 3.0)(62) == 3.0, "a short rest asks for no more than usual"
    assert patient_silence(target(20), 3.0)(62) == 12.0, "and none is waited for without end"


def test_without_music_the_usual_silence_holds() -> None:
    assert patient_silence(None, 2.5)(60) == 2.5
