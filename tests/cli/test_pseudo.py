"""No command says a word that did not go through the catalogue: in a made-up language all of them change."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from fixtures.make.many import Piano, survey_take
from fixtures.make.music import millers_cat
from fixtures.make.player import Planted, play
from keysense.smf import take_to_smf
from keysense.studio import Studio
from tests.words.pseudo import DATA, latin_words, spoken


@pytest.fixture
def language(tmp_path: Path) -> Iterator[None]:
    with spoken(tmp_path / "locale"):
        yield


# Typed, not said: commands, their options and values, and the names of rows and files.
TYPED = "keysense name drop undo piece add play in FILE TITLE NICKNAME agreed by on WHO DATE all pupil erase agree with"


def test_no_command_says_a_word_of_its_own(language: None, say, tmp_path: Path) -> None:
    score = Path(__file__).resolve().parents[2] / "fixtures" / "scores" / "millers_cat_marked.musicxml"
    path = tmp_path / "survey.mid"
    path.write_bytes(take_to_smf(survey_take(Piano(), 1)))
    said = {}
    for line in (
        ["pupil", "list"], ["piece", "list"], ["pupil", "add", "Pip", "--agreed-by", "mother", "--on", "2026-01-01"],
        ["piece", "add", str(score), "--title", "Cat"], ["piece", "list"], ["pupil", "list"], ["survey"],
        ["survey", str(path), "--piano", "Pip"], ["manners", "pip"], ["overnight", "pip"], ["sight", "pip"],
        ["spots", "cat", "--pupil", "pip"], ["weeks", "pip", "--piece", "cat"], ["look", "last"], ["weeks", "pip"],
        ["name", "last", "pip"], ["drop", "last"], ["look", "ffff"], ["pupil", "withdraw", "pip"], ["note", "odile"],
    ):  # fmt: skip
        if line == ["look", "last"]:
            with Studio.open() as studio:
                take = play(millers_cat(), Planted(ioi_noise=0.05), 1).take()
                studio.add_take(take, take_to_smf(take), started_utc=studio.now())
        answer = say(*line)
        said[" ".join(line)] = latin_words(answer.out + answer.err, [DATA, TYPED, "ffff"])
    assert {line: words for line, words in said.items() if words} == {}
