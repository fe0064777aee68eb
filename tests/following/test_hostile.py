"""A few hostile takes of every kind; the bench feeds a hundred thousand of them."""

from __future__ import annotations

import numpy as np
import pytest

from keysense.errors import NotesError
from keysense.following import follow
from tests.bench import hostile
from tests.bench.bench_fuzz import untrue


@pytest.mark.parametrize("kind", sorted(set(hostile.KINDS) - {"not finite"}))
def test_no_hostile_take_breaks_following(kind: str) -> None:
    for seed in range(12):
        rng = np.random.default_rng([17, seed])
        target = hostile.target(rng)
        take = hostile.KINDS[kind](rng, target)
        assert untrue(target, take, follow(target, take)) == ""


def test_times_that_are_no_numbers_are_refused() -> None:
    for seed in range(12):
        rng = np.random.default_rng(seed)
        with pytest.raises(NotesError, match="finite"):
            hostile.KINDS["not finite"](rng, hostile.target(rng))
