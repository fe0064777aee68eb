"""The path without jumps is heard only where it can differ: what stands is what hearing all of it would have chosen."""

from __future__ import annotations

import numpy as np
import pytest

from keysense.following import constants, follow, straight
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


def from_the_start(sweep: Sweep, *_: object) -> tuple[int, Sweep]:
    return 0, Sweep(sweep.lane, sweep.log_pace, jumps=False)


@pytest.mark.parametrize("way", WAYS)
def test_the_same_path_stands_as_if_all_had_been_heard(way: str, monkeypatch: pytest.MonkeyPatch) -> None:
    played = playings(way)
    quick = [follow(p.target, p.take).pairs for p in played]
    monkeypatch.setattr(straight, "_beginning", from_the_start)
    monkeypatch.setattr(constants, "JOINED_FOR", 10**9)
    for one, playing in zip(quick, played, strict=True):
        assert np.array_equal(one, follow(playing.target, playing.take).pairs)


def test_one_going_back_costs_no_second_hearing_of_the_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(1)
    playing = disturb.restart(disturb.plain(tunes.piece(51_100, bars=60), rng), rng)
    heard = {True: 0, False: 0}
    hear = Sweep.hear

    def counted(self: Sweep, played: int, time_s: float, pitch: int) -> None:
        heard[self.jumps] += 1
        hear(self, played, time_s, pitch)

    monkeypatch.setattr(Sweep, "hear", counted)
    assert len(follow(playing.target, playing.take).passes) > 1
    assert 0 < heard[False] < heard[True] / 2
