"""Words for a pace: one table, a convention, the teacher's own in its place."""

from __future__ import annotations

from pathlib import Path

import pytest

from keysense.errors import PracticeError
from keysense.tempo_words import read_tempo_words, words_for


@pytest.mark.parametrize("qpm", [76, 84, 100, 108])
def test_where_published_lists_conflict_a_pace_may_bear_two_words(qpm: float) -> None:
    # Andante is 76 to 108 in one list and 70 to 85 in another
    words = words_for(qpm, read_tempo_words())
    assert ("andante" in words) == (qpm < 108)
    assert all(one.low_qpm < one.high_qpm for one in read_tempo_words())


def test_a_pace_beyond_the_table_has_no_word() -> None:
    assert words_for(20, read_tempo_words()) == words_for(300, read_tempo_words()) == ()


def test_a_teacher_s_own_table_takes_its_place(tmp_path: Path) -> None:
    own = tmp_path / "tempo_words.toml"
    assert read_tempo_words(own) == read_tempo_words()
    own.write_text("[strolling]\nfrom = 60\nto = 90\n", "utf-8")
    assert words_for(72, read_tempo_words(own)) == ("strolling",)


@pytest.mark.parametrize(
    "text", ["no TOML", "[a]\nfrom = 3\n", "[a]\nfrom = 9\nto = 3\n", "a = 3\n", "[a]\nfrom=1\nto=nan\n"]
)
def test_a_table_that_cannot_be_read_is_named(tmp_path: Path, text: str) -> None:
    own = tmp_path / "tempo_words.toml"
    own.write_text(text, "utf-8")
    with pytest.raises(PracticeError, match=r"tempo_words\.toml"):
        read_tempo_words(own)


def test_the_table_says_that_it_is_a_convention() -> None:
    from importlib.resources import files

    head = files("keysense").joinpath("tempo_words.toml").read_text("utf-8").split("[")[0]
    assert "convention" in head and "common practice, no source" in head
