"""How much of the keyboard was used."""

from __future__ import annotations

import numpy as np

from fixtures.make.listening import heard
from fixtures.make.music import both_hands, five_fingers
from fixtures.make.player import Planted, play


def test_the_keys_are_counted_as_numpy_counts_them() -> None:
    pitch = play(both_hands(4), Planted(), 1).pitch
    reading = heard(both_hands(4))
    assert reading.one("keys_used").value == len(np.unique(pitch)) == 10
    assert reading.one("keys_range").value == pitch.max() - pitch.min() + 1 == 20


def test_key_speed_and_loudness_change_nothing_and_other_notes_do() -> None:
    assert heard(five_fingers(2), Planted(up=7, tempo_qpm=40, loudness=30)).one("keys_used").value == 5
    assert heard(five_fingers(2), Planted(other={3: 80})).one("keys_range").value == 21
