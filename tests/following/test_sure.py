"""While all goes well the best state goes on alone: it is followed as if every state had been weighed."""

from __future__ import annotations

import numpy as np
import pytest

from keysense.following import constants, follow
from keysense.following.weighing import Weighing
from tests.bench import disturb, tunes

WAYS = ("nothing", "other pitch", "corrected", "restart", "skip", "wait", "hands apart")


def playings(seeds: range, way: str) -> list[disturb.Playing]:
    out = []
    for seed in seeds:
        rng = np.random.default_rng(seed)
        plain = disturb.plain(tunes.piece(seed, bars=12, hands=1 + seed % 2), rng)
        out.append(disturb.DISTURBANCES[way](plain, rng))
    return out


@pytest.mark.parametrize("way", WAYS)
def test_what_follows_plain_playing_is_heard_as_if_all_had_been_weighed(
    way: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    played = playings(range(41_000, 41_006), way)
    quick = [follow(p.target, p.take).pairs for p in played]
    monkeypatch.setattr(constants, "SURE_AFTER", 10**9)
    for one, playing in zip(quick, played, strict=True):
        assert np.array_equal(one, follow(playing.target, playing.take).pairs)


def test_plain_playing_is_hardly_weighed(monkeypatch: pytest.MonkeyPatch) -> None:
    (playing,) = playings(range(41_000, 41_001), "nothing")
    weighed = []
    weigh = Weighing.weigh

    def counted(self: Weighing, played: int, time_s: float, pitch: int) -> None:
        weighed.append(played)
        weigh(self, played, time_s, pitch)

    monkeypatch.setattr(Weighing, "weigh", counted)
    assert not follow(playing.target, playing.take).lost
    assert len(weighed) < len(playing.take) / 2
