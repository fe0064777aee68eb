"""Splitting and joining by command: two of one, one of two, and back."""

from __future__ import annotations

import numpy as np
import pytest

from keysense.notes import Take
from keysense.smf import take_to_smf
from keysense.studio import Studio
from tests.cli.conftest import played


@pytest.fixture
def two(lesson, files):
    """The tune twice with two seconds of silence between, in one take of Pip's."""
    a, b = played(), played(seed=4)
    late = b.notes.copy()
    for name in ("onset_s", "release_s"):
        late[name] += a.duration_s + 2.0
    (files / "two.mid").write_bytes(take_to_smf(Take(np.concatenate([a.notes, late]), a.pedals)))
    lesson("bring", files / "two.mid", "--for", "pip cat sleepy")
    return lesson


def takes() -> list[tuple[int, str]]:
    with Studio.open() as studio:
        return [(take.n, take.character) for take in reversed(studio.takes())]


def test_a_take_is_split_at_its_silence_and_put_back(two):
    said = two("split")
    assert said.code == 0 and said.out.count("26 notes: Pip, The Miller's Cat, sleepy") == 2
    assert takes() == [(26, "sleepy")] * 2
    assert "is back, 52 notes: Pip" in two("split", "last", "--undo").out
    assert takes() == [(52, "sleepy")]


def test_a_take_is_split_where_it_is_said_and_joined_again(two):
    said = two("split", "last", "--at", "5.2")
    assert said.code == 0 and [n for n, _ in takes()] == [11, 41]
    assert "52 notes" in two("join").out
    assert takes() == [(52, "sleepy")]
    assert [n for n, _ in takes()] == [52]
    assert two("join", "last", "--undo").out.count("is back") == 2


def test_what_cannot_be_split_or_joined_is_one_clear_line(two, files):
    for words in (("split", "last", "--at", "900"), ("split", "last", "--undo"), ("join",), ("join", "last", "last")):
        assert two(*words).is_one_clear_line, words
    two("bring", files / "tune.mid", "--for", "pip cat")
    assert two("split", "last").is_one_clear_line
