"""Intervals hold what was planted as often as they say, and nothing is called something at most as often as allowed.

A smaller version of tests/bench/bench_findings.py: fixed seeds, and bounds that a true share of 95 % (or 5 %) in 100
seeds oversteps once in about 200 cases (binomial: below 88 with 95 %; above 12 with 5 %).
"""

from __future__ import annotations

from functools import cache

import pytest

from fixtures.make.cases import CASES, NULLS, Case
from fixtures.make.listening import heard_alone
from fixtures.make.player import play

SEEDS = range(10_000, 10_100)


@cache
def held(case: Case) -> float:
    return sum(low <= truth <= high for low, truth, high in intervals(case)) / len(SEEDS)


def intervals(case: Case) -> list[tuple[float, float, float]]:
    rows = []
    for seed in SEEDS:
        played = play(case.music, case.planted, seed)
        found = heard_alone(played, case.name, case.hand, case.mark)
        assert found is not None and found.low is not None and found.high is not None
        rows.append((found.low, played.truth[case.key], found.high))
    return rows


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.label)
def test_the_interval_holds_the_planted_value(case: Case) -> None:
    assert held(case) >= 0.88


def test_the_continuous_intervals_are_no_wider_than_they_say() -> None:
    continuous = [case for case in CASES if not case.rank]
    assert 0.93 <= sum(map(held, continuous)) / len(continuous) <= 0.97


@pytest.mark.parametrize("case", NULLS, ids=lambda case: case.label)
def test_nothing_planted_is_seldom_called_something(case: Case) -> None:
    claimed = sum(not low <= 0 <= high for low, _, high in intervals(case)) / len(SEEDS)
    assert claimed <= 0.12
