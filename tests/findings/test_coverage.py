"""Intervals hold what was planted as often as they say, and nothing is called something at most as often as allowed.

A smaller version of tests/bench/bench_findings.py: fixed seeds, bounds wide enough for the number of seeds (a share of
95 % seen in 200 seeds lies between 90.5 and 98.5 % in more than 99 % of cases, binomial).
"""

from __future__ import annotations

import pytest
from fixtures.make.cases import CASES, NULLS, Case
from fixtures.make.player import play

from keysense.findings import look

SEEDS = range(10_000, 10_200)


def intervals(case: Case) -> list[tuple[float, float, float]]:
    target = case.music.target()
    rows = []
    for seed in SEEDS:
        played = play(case.music, case.planted, seed)
        found = look(played.take(), target, following=played.following()).one(case.name, case.hand, case.mark)
        assert found is not None and found.low is not None and found.high is not None
        rows.append((found.low, played.truth[case.key], found.high))
    return rows


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.label)
def test_the_interval_holds_the_planted_value(case: Case) -> None:
    held = sum(low <= truth <= high for low, truth, high in intervals(case)) / len(SEEDS)
    assert held >= 0.905
    if not case.rank:
        assert held <= 0.985


@pytest.mark.parametrize("case", NULLS, ids=lambda case: case.label)
def test_nothing_planted_is_seldom_called_something(case: Case) -> None:
    claimed = sum(not low <= 0 <= high for low, _, high in intervals(case)) / len(SEEDS)
    assert claimed <= 0.095
