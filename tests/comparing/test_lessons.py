"""The first playing of a day beside the last of the lesson before."""

from __future__ import annotations

import numpy as np

from fixtures.make.listening import heard
from fixtures.make.music import millers_cat
from fixtures.make.player import Planted
from keysense.comparing import Character
from keysense.comparing.lessons import overnight

SLOWER = Character("sleepy", wishes={"tempo": "slower", "loudness": "softer"})
NOISE = {"ioi_noise": 0.06, "touch_noise": 6}


def words(last: Planted, first: Planted, seed: int) -> dict[str, str]:
    pair = heard(millers_cat(), last, 2 * seed), heard(millers_cat(), first, 2 * seed + 1)
    return {one.name: one.word for one in overnight(*pair, SLOWER)}


def test_what_came_nearer_the_wish_grew_and_what_went_off_wants_another_listen() -> None:
    quick, slow = Planted(**NOISE, tempo_qpm=110, loudness=60), Planted(**NOISE, tempo_qpm=74, loudness=84)
    assert words(quick, slow, 1) == {"tempo": "grew overnight", "loudness": "needs another listen"}
    assert words(slow, quick, 1) == {"tempo": "needs another listen", "loudness": "grew overnight"}


def test_what_is_the_same_is_kept_and_chance_seldom_makes_it_more() -> None:
    alike = [words(Planted(**NOISE), Planted(**NOISE), s) for s in range(60)]
    assert np.mean([one["tempo"] == "kept" for one in alike]) >= 0.8
    assert np.mean([{"grew overnight", "needs another listen"} & set(one.values()) != set() for one in alike]) <= 0.05


def test_on_two_pianos_that_are_not_known_loudness_is_not_told() -> None:
    quick, slow = Planted(**NOISE, tempo_qpm=110, loudness=60), Planted(**NOISE, tempo_qpm=74, loudness=84)
    pair = heard(millers_cat(), quick, 1), heard(millers_cat(), slow, 2)
    told = {one.name: one for one in overnight(*pair, SLOWER, loudness=False)}
    assert told["tempo"].word == "grew overnight"
    assert told["loudness"].word == "can't tell yet"
    assert "not surveyed" in told["loudness"].dimension.difference.why_missing
