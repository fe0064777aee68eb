"""The compiled sweep beside the numpy sweep: the same pairs, and nothing lost where there is no compiler."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from keysense import compiling
from keysense.errors import NotesError
from keysense.following import constants, fast, follow, jumping, planted
from keysense.following.following import Following
from keysense.following.hypotheses import unshifted
from keysense.following.lane import Lane
from keysense.notes import Take
from keysense.targets.target import Target
from tests.bench import disturb, hostile, tunes

pytestmark = pytest.mark.xdist_group("compiler")  # compiled once, not once a worker


@pytest.fixture(scope="module")
def compiled_at(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Compiled once for these tests, as `keysense.compiling` has it done."""
    at = tmp_path_factory.mktemp("compiled")
    assert fast.compile_into(at), "the planted takes of the module itself"
    return at


@pytest.fixture
def compiled(compiled_at: Path) -> Iterator[None]:
    assert fast.load(compiled_at)
    yield
    fast.unload()


def both(target: Target, take: Take) -> tuple[Following, Following]:
    """Followed by what was compiled, and by numpy."""
    assert fast.loaded()
    quick = follow(target, take)
    kernel, fast._State.kernel = fast._State.kernel, None
    try:
        return quick, follow(target, take)
    finally:
        fast._State.kernel = kernel


def assert_alike(target: Target, take: Take) -> None:
    quick, plain = both(target, take)
    for column in ("target", "passing", "kind"):
        assert quick.pairs[column].tolist() == plain.pairs[column].tolist()
    assert quick.passes == plain.passes
    assert quick.shift_semitones == plain.shift_semitones
    assert quick.ties == plain.ties
    assert quick.lost == plain.lost
    assert quick.confidence == pytest.approx(plain.confidence, abs=1e-9)


kept = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@pytest.mark.parametrize("name", sorted(disturb.DISTURBANCES))
@pytest.mark.parametrize("seed", range(4))
def test_planted_disturbances_are_followed_alike(compiled: None, name: str, seed: int) -> None:
    rng = np.random.default_rng(seed)
    target = tunes.piece(seed, bars=4 + seed, form=("A", "AA'", "ABA", "AA")[seed], hands=1 + seed % 2)
    playing = disturb.DISTURBANCES[name](disturb.plain(target, rng), rng)
    assert_alike(playing.target, playing.take)


@pytest.mark.parametrize("seed", range(4))
def test_a_repeat_left_out_is_followed_alike(compiled: None, seed: int) -> None:
    rng = np.random.default_rng(seed)
    target = tunes.repeated(seed, bars=2 + seed, hands=1 + seed % 2)
    playing = disturb.plain(target, rng)
    second = target.bars["start_quarter"][2 + seed] + np.array([0.0, 4.0 * (2 + seed)])
    quarter = target.notes["onset_quarter"][playing.presses["meant"]]
    left_out = playing.sorted(playing.presses[(quarter < second[0]) | (quarter >= second[1])])
    assert_alike(target, left_out.take)
    assert_alike(target, disturb.mixed(left_out, rng, 2).take)


@pytest.mark.parametrize("hardness", [1, 2, 3])
@pytest.mark.parametrize("seed", range(4))
def test_mixed_playing_is_followed_alike(compiled: None, hardness: int, seed: int) -> None:
    rng = np.random.default_rng(100 * hardness + seed)
    playing = disturb.mixed(disturb.plain(tunes.piece(seed, bars=12, hands=1 + seed % 2), rng), rng, hardness)
    assert_alike(playing.target, playing.take)


@kept
@example(0)
@given(st.integers(0, 10**6))
def test_hostile_takes_are_followed_alike(compiled: None, seed: int) -> None:
    rng = np.random.default_rng(seed)
    target = hostile.target(rng)
    kind = sorted(hostile.KINDS)[seed % len(hostile.KINDS)]
    try:
        take = hostile.KINDS[kind](rng, target)
    except NotesError:
        return
    assert_alike(target, take)


def test_more_landings_than_are_kept_are_cut_alike(compiled: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(constants, "LANDINGS_MOST", 12)
    rng = np.random.default_rng(5)
    playing = disturb.mixed(disturb.plain(tunes.piece(5, bars=60), rng), rng, 3)
    assert_alike(playing.target, playing.take)


def test_a_constant_that_is_changed_needs_no_new_compiling(compiled: None, monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(3)
    playing = disturb.restart(disturb.plain(tunes.piece(3, bars=12), rng), rng)
    before = follow(playing.target, playing.take)
    monkeypatch.setattr(constants, "JUMP", 500.0)
    assert len(before.passes) > 1
    assert len(follow(playing.target, playing.take).passes) == 1
    assert_alike(playing.target, playing.take)
    others = disturb.other_pitch(disturb.plain(tunes.piece(3, bars=12), rng), rng)
    assert (follow(others.target, others.take).pairs["kind"] == "substitution").any()
    for name in ("INSTEAD_CLOSE", "INSTEAD_FAR", "FIRST_TRY_FAR"):
        monkeypatch.setattr(constants, name, 0)
    assert not (follow(others.target, others.take).pairs["kind"] == "substitution").any()


def test_nothing_is_compiled_in_front_of_the_user(compiled: None) -> None:
    assert fast._State.kernel
    quick: Any = fast._State.kernel
    before = [len(of.signatures) for of in (quick.sweep.sweep, quick.look_twice)]
    for seed in range(30):
        rng = np.random.default_rng(seed)
        target = tunes.piece(seed, bars=1 + seed % 6, hands=1 + seed % 2)
        playing = disturb.mixed(disturb.plain(target, rng), rng, seed % 4)
        follow(target, playing.take)
    assert [len(of.signatures) for of in (quick.sweep.sweep, quick.look_twice)] == before == [1, 1]


def test_a_second_look_that_was_compiled_wrongly_is_not_marked(compiled: None) -> None:
    kernel = fast._State.kernel
    assert kernel
    assert planted.comes_to_the_same(kernel, seeds=1)
    wrong = kernel._replace(look_twice=lambda *told: kernel.look_twice(*told)[::-1])
    assert not planted.comes_to_the_same(wrong, seeds=1)


@given(st.integers(0, 10**6), st.booleans(), st.booleans(), st.booleans())
@settings(max_examples=80, deadline=None)
def test_few_places_and_many_are_weighed_alike(seed: int, jumps: bool, starts: bool, left: bool) -> None:
    rng = np.random.default_rng(seed)
    target = tunes.piece(seed, bars=int(rng.integers(1, 40)))
    lane = Lane(unshifted(target)[0])
    pitch = int(rng.choice(target.notes["pitch"]))
    here = lane.quarter[int(rng.integers(lane.size))] if left else 0.0
    how = (lane, pitch, float(rng.uniform(-20, 60)), here, float(rng.uniform(-40, 60)), jumps, starts)
    few, many = jumping._weigh_few(*how), jumping._weigh_many(*how)
    assert [(state, way) for state, _, way in few] == [(state, way) for state, _, way in many]
    assert np.allclose([value for _, value, _ in few], [value for _, value, _ in many], rtol=0, atol=1e-9)


def test_only_what_was_compiled_and_checked_for_this_processor_is_loaded(compiled_at: Path, tmp_path: Path) -> None:
    fast.unload()
    assert not fast.load(tmp_path)
    (tmp_path / "checked").write_text("another processor", "utf-8")
    assert not fast.load(tmp_path)
    assert fast.load(compiled_at)
    fast.unload()


def test_a_compiler_that_fails_is_no_matter(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "numba", None)
    (tmp_path / "checked").write_text("any", "utf-8")
    assert not fast.load(tmp_path)
    playing = disturb.plain(tunes.piece(1, bars=4), np.random.default_rng(1))
    assert not follow(playing.target, playing.take).lost


def test_much_following_loads_what_is_there(compiled_at: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(compiling, "folder", lambda: compiled_at)
    monkeypatch.setattr(fast._State, "presses", fast._State.load_at)
    playing = disturb.plain(tunes.piece(1, bars=4), np.random.default_rng(1))
    try:
        follow(playing.target, playing.take)
        assert fast.loaded()
    finally:
        fast.unload()


def test_nothing_that_starts_imports_the_compiler() -> None:
    look = (
        "import sys; from keysense import follow; from keysense.cli import main\n"
        "try: main(['--help'])\nexcept SystemExit: pass\n"
        "sys.exit(bool({'numba', 'llvmlite'} & set(sys.modules)))"
    )
    assert subprocess.run([sys.executable, "-c", look], stdout=subprocess.DEVNULL).returncode == 0
