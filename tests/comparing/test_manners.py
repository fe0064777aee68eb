"""By ear beside from the page: over pieces, not over takes, and nothing claimed in early days."""

from __future__ import annotations

import numpy as np
import pytest

from fixtures.make.listening import heard
from fixtures.make.music import millers_cat
from fixtures.make.player import Planted
from keysense.comparing.manners import PieceHeard, TakeHeard, manners, piece_heard
from keysense.findings import Reading


def of(reading: Reading) -> TakeHeard:
    followed = int((reading.following.pairs["target"] >= 0).sum())
    return TakeHeard(reading.findings, followed, reading.take.notes["velocity"])


def piece(waits: dict[int, float], seed: int, **more: float) -> PieceHeard:
    planted = Planted(ioi_noise=0.05, waits=waits, touch_noise=more.get("touch_noise", 6), breath_time=0.4)
    return piece_heard([of(heard(millers_cat(), planted, 10 * seed + k)) for k in range(3)])


def test_pieces_that_wait_more_from_the_page_are_told() -> None:
    by_ear = [piece({}, s) for s in range(4)]
    read = [piece({4: 2.5, 9: 2.5, 20: 2.5, **({13: 2.5} if s % 2 else {})}, 50 + s) for s in range(4)]
    told = {one.name: one for one in manners(by_ear, read)}
    assert told["waits_per_ten"].word == "more"
    assert told["waits_per_ten"].difference.value == pytest.approx(10 * 3.5 / 26, rel=0.15)
    assert told["contrast"].word == "can't tell yet"
    assert {one.name: one.word for one in manners(read, by_ear)}["waits_per_ten"] == "less"


def test_fewer_than_three_pieces_are_early_days_however_many_takes() -> None:
    two = [piece({}, s) for s in range(2)]
    told = manners(two, [piece({4: 3.0}, s) for s in range(5)])
    assert {one.word for one in told} == {"early days"}
    assert "2 and 5 came" in told[0].difference.why_missing


def test_chance_is_told_on_at_most_one_page_in_twenty() -> None:
    rng = np.random.default_rng(8)
    claimed = 0
    for _ in range(1000):
        pieces = [PieceHeard(*rng.normal((2, 0.5, 30), (0.5, 0.1, 6))) for _ in range(8)]
        claimed += any(one.word in ("more", "less") for one in manners(pieces[:4], pieces[4:]))
    assert claimed / 1000 <= 0.06


def test_a_take_that_lost_its_place_and_one_loudness_tell_nothing() -> None:
    assert piece_heard([]) == PieceHeard(None, None, None)
    flat = piece_heard([of(heard(millers_cat(), Planted(one_velocity=True), 1))])
    assert flat.contrast is None and flat.waits_per_ten is not None
