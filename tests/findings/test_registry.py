"""The register of findings is whole: every name that can be emitted, its unit, words, and a test that exists."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

import keysense.findings
from keysense.findings.questions import QUESTIONS
from keysense.findings.registry import REGISTER, Registered
from keysense.findings.touch_kinds import KINDS
from keysense.practice import read_practice
from keysense.units import UNITS
from keysense.words.catalogue import has_word

TESTS = Path(__file__).resolve().parents[1]
FOLDER = Path(keysense.findings.__file__).parent
# every way a finding is made in the room: by its class, by the missing one, by the shared row, from a table of names
MADE = re.compile(r"(?:Finding|Finding\.missing|median_row|row)\(\s*(?:heard,\s*)?[\"']([a-z_]+)[\"']")
LISTED = re.compile(r"\(\"([a-z_]+)\", \"(?:" + "|".join(map(re.escape, UNITS)) + r")\"")


def emitted() -> set[str]:
    names = {f"slurs_{kind}" for kind in KINDS}
    for path in FOLDER.glob("*.py"):
        if path.stem not in ("registered", "registry"):
            text = path.read_text("utf-8")
            names |= set(MADE.findall(text)) | set(LISTED.findall(text))
    return names


def test_every_name_that_can_be_emitted_is_registered() -> None:
    assert emitted() - set(REGISTER) == set()


def test_the_search_finds_the_names_there_are() -> None:
    assert len(emitted()) >= 40


@pytest.mark.parametrize("row", REGISTER.values(), ids=lambda row: row.name)
def test_each_row_is_whole_and_its_test_exists(row: Registered) -> None:
    assert row.unit in UNITS
    assert row.definition and row.check
    assert row.mark in ("V", "C", "M", "P")
    assert not row.limit or row.limit in read_practice().rows
    assert has_word(f"title.{row.name}")
    assert "|" not in row.definition + row.check
    file, _, name = row.test.partition("::")
    assert re.search(rf"^def {name}\(", (TESTS / file).read_text("utf-8"), re.M), row.test


def test_at_least_thirty_names_are_checked_against_something_outside() -> None:
    assert sum(row.mark in ("V", "C", "M") for row in REGISTER.values()) >= 30


def test_each_question_stands_in_a_file_that_says_what_it_means() -> None:
    for question in QUESTIONS:
        module = sys.modules[question.__module__]
        said = (module.__doc__ or "").splitlines()
        assert {"Conventions", "Findings", "References"} <= set(said), module
    assert all(len(path.read_text("utf-8").splitlines()) <= 250 for path in FOLDER.glob("*.py"))
