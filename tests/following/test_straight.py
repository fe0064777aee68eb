"""The path without jumps is heard only where it may stand: what stands is what hearing all of it would have chosen."""

from __future__ import annotations

import numpy as np
import pytest

from keysense.following import constants, follow
from keysense.following.decode import Sweep
from tests.bench import disturb, tunes

WAYS = {
    "a restart": (disturb.restart, "ABA"),
    "a skip": (disturb.skip, "A"),
    "repeats": (disturb.nothing, "AA'"),
    "repeats, going back": (disturb.restart, "AABA"),
    "a hard day": (lambda playing, rng: disturb.mixed(playing, rng, 3), "A"),
}


def playings(way: str) -> list[disturb.Playing]:
    out = []
    for seed in range(51_000, 51_005):
        rng = np.random.default_rng(seed)
        tune = tunes.piece(seed, bars=12, hands=1 + seed % 2, form=WAYS[way][1])
        out.append(WAYS[way][0](disturb.plain(tune, rng), rng))
    return out


@pytest.mark.parametrize("way", WAYS)
def test_the_same_path_stands_as_if_all_had_been_heard(way: str, monkeypatch: pytest.MonkeyPatch) -> None:
    played = playings(way)
    quick = [follow(p.target, p.take).pairs for p in played]
    monkeypatch.setattr(constants, "LOOK_AHEAD", 0)
    monkeypatch.setattr(constants, "STRAIGHT_BEHIND", 1e9)
    for one, playing in zip(quick, played, strict=True):
        assert np.array_equal(one, follow(playing.target, playing.take).pairs)


def test_one_going_back_costs_no_second_hearing(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(1)
    playing = disturb.restart(disturb.plain(tunes.piece(51_100, bars=60), rng), rng)
    heard = {True: 0, False: 0}
    hear = Sweep.hear

    def counted(self: Sweep, played: int, time_s: float, pitch: int) -> None:
        heard[self.jumps] += 1
        hear(self, played, time_s, pitch)

    monkeypatch.setattr(Sweep, "hear", counted)
    assert len(follow(playing.target, playing.take).passes) > 1
    assert heard[True] and not heard[False]
