"""A few hostile takes of every kind; the bench feeds a hundred thousand of them."""

from __future__ import annotations

import numpy as np
import pytest

from keysense.errors import NotesError
from keysense.following import follow
from keysense.following.decode import Sweep
from keysense.following.hypotheses import unshifted
from keysense.following.jumping import Row
from keysense.following.lane import Lane
from keysense.targets.target import Target
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


def test_of_random_playing_on_five_keys_only_what_may_still_be_is_kept() -> None:
    rng = np.random.default_rng(0)
    notes = 400
    target = Target.from_notes(
        onset_quarter=np.arange(notes) / 2, duration_quarter=np.full(notes, 0.5), pitch=rng.integers(60, 65, notes)
    )
    onset_s, pitch = np.cumsum(rng.exponential(0.2, notes)).tolist(), rng.integers(60, 65, notes).tolist()
    sweep = Sweep(Lane(unshifted(target)[0]), -0.5)
    for played in range(notes):
        sweep.hear(played, onset_s[played], pitch[played])
    kept: dict[int, Row] = {}
    for carried in sweep.carried:
        row: Row | None = carried[-1]
        while row is not None and id(row) not in kept:
            kept[id(row)] = row
            row = row[-1]
    assert len(sweep.path()) > notes / 2
    assert len(kept) < 5 * notes
