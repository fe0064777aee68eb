"""What holds for every take and every target, however odd."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from hypothesis import example, given, settings
from hypothesis import strategies as st

from keysense.following import constants, follow, looks, same_pitch
from keysense.notes import Take
from keysense.targets.target import Target
from tests.bench import disturb, tunes

pitches = st.one_of(st.integers(58, 66), st.integers(0, 127))
presses = st.lists(st.tuples(st.floats(0, 30), st.floats(0.0, 2.0), pitches, st.integers(1, 127)), max_size=40)
written = st.lists(
    st.tuples(st.integers(-4, 40), st.integers(0, 4), pitches, st.sampled_from(["R", "L", None])), max_size=40
)


def take_of(rows: list[tuple[float, float, int, int]], by: int = 0, after_s: float = 0.0) -> Take:
    onset, length, pitch, velocity = (list(column) for column in zip(*rows, strict=True)) if rows else ([], [], [], [])
    on = np.asarray(onset, float) + after_s
    return Take.from_notes(
        onset_s=on, release_s=on + np.asarray(length, float), pitch=[p + by for p in pitch], velocity=velocity
    )


def target_of(rows: list[tuple[int, int, int, str | None]], by: int = 0) -> Target:
    onset, length, pitch, hand = (list(column) for column in zip(*rows, strict=True)) if rows else ([], [], [], [])
    return Target.from_notes(
        onset_quarter=np.asarray(onset, float) / 2, duration_quarter=np.asarray(length, float) / 2,
        pitch=[p + by for p in pitch], hand=hand,
    )  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(written, presses)
def test_every_press_has_one_row_and_every_row_is_true(rows: list, keys: list) -> None:
    target, take = target_of(rows), take_of(keys)
    following = follow(target, take)
    pairs = following.pairs
    assert pairs["played"].tolist() == list(range(len(take)))
    assert ((pairs["target"] == -1) == (pairs["kind"] == "extra")).all()
    assert (pairs["target"] < len(target.notes)).all()
    assert ((pairs["confidence"] >= 0) & (pairs["confidence"] <= 1)).all()
    for note in np.unique(pairs["target"][pairs["target"] >= 0]).tolist():
        times = pairs["passing"][pairs["target"] == note]
        assert times.tolist() == list(range(len(times)))
    assert 0.0 <= following.confidence <= 1.0
    assert not set(following.omitted.tolist()) & set(pairs["target"].tolist())
    for stretch in following.passes:
        assert 0 <= stretch["first_played"] <= stretch["last_played"] < len(take)
        assert stretch["first_bar"] <= stretch["last_bar"]


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from(sorted(disturb.DISTURBANCES)), st.integers(-9, 9))
def test_moving_both_to_another_key_or_the_take_in_time_changes_no_pair(seed: int, name: str, by: int) -> None:
    rng = np.random.default_rng(seed)
    playing = disturb.DISTURBANCES[name](disturb.plain(tunes.piece(seed, bars=4, hands=1 + seed % 2), rng), rng)
    notes, keys = playing.target.notes, playing.take.notes
    moved = Target.from_notes(
        onset_quarter=notes["onset_quarter"], duration_quarter=notes["duration_quarter"], hand=notes["hand"],
        pitch=notes["pitch"].astype(int) + by, tempo_qpm=100.0,
    )  # fmt: skip
    later = Take.from_notes(
        onset_s=keys["onset_s"] + 64.0, release_s=keys["release_s"] + 64.0, pitch=keys["pitch"].astype(int) + by,
        velocity=keys["velocity"],
    )  # fmt: skip
    before, after = follow(playing.target, playing.take), follow(moved, later)
    assert before.pairs["target"].tolist() == after.pairs["target"].tolist()
    assert before.pairs["kind"].tolist() == after.pairs["kind"].tolist()


@settings(max_examples=60, deadline=None)
@example(3081)  # both hands on one key, amid the same key before and after
@example(700401)
@example(700965)
@given(st.integers(0, 10**6))
def test_what_is_played_as_written_is_paired_as_written(seed: int) -> None:
    rng = np.random.default_rng(seed)
    target = tunes.piece(seed, bars=int(rng.integers(2, 9)), hands=int(rng.integers(1, 3)))
    playing = disturb.plain(target, rng, quarter_s=float(rng.uniform(0.3, 1.5)))
    following = follow(target, playing.take)
    assert not following.lost
    assert disturb.f1(playing, following)[0] > 0.97


@settings(max_examples=200, deadline=None)
@given(st.lists(st.lists(st.floats(-1, 2), min_size=3, max_size=3), min_size=1, max_size=5))
def test_the_pairing_in_order_is_the_best_there_is(rows: list[list[float]]) -> None:
    gain = np.asarray(rows)
    found = same_pitch.in_order(rows)
    assert all(a < c and b < d for (a, b), (c, d) in pairwise(found))
    assert np.isclose(sum(gain[i, j] for i, j in found), _best(gain))


@settings(max_examples=200, deadline=None)
@given(st.lists(st.lists(st.floats(1.05, 2) | st.just(0.0), min_size=4, max_size=4), min_size=1, max_size=5))
def test_whatever_hangs_together_is_paired_in_the_best_order(gains: list[list[float]]) -> None:
    gain = np.asarray(gains)
    rows, columns = np.nonzero(gain)
    if len(rows):
        p = looks.Limits(*[getattr(constants, name.upper()) for name in looks.Limits._fields])
        found = same_pitch._chosen(p, rows.tolist(), columns.tolist(), gain[rows, columns].tolist())
        assert np.isclose(gain[rows[found], columns[found]].sum(), _best(gain))


def _best(gain: np.ndarray) -> float:
    """The best order-keeping pairing by trying every way."""
    n, m = gain.shape
    if not n or not m:
        return 0.0
    ways = [_best(gain[1:, :])]
    ways += [gain[0, j] + _best(gain[1:, j + 1 :]) for j in range(m) if gain[0, j] > 0]
    return max(ways)
