"""Having the sweep compiled: behind what the user does, once, and never where it is not wanted."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import platformdirs
import pytest

from keysense import compiling
from keysense.following import fast


@pytest.fixture
def wanted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A machine with a compiler and an empty cache."""
    monkeypatch.delenv(compiling.OFF)
    monkeypatch.setattr(platformdirs, "user_cache_path", lambda *_, **__: tmp_path / "cache")
    return tmp_path / "cache"


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    commands: list[list[str]] = []
    monkeypatch.setattr(subprocess, "run", lambda command, **_: commands.append(command))
    return commands


def test_it_is_asked_for_once_in_a_process_of_its_own(wanted: Path, asked: list[list[str]]) -> None:
    for _ in range(2):
        compiling.quietly(0.0).join()
    assert asked == [[sys.executable, "-m", "keysense.compiling"]]
    assert not fast.loaded()


def test_what_came_to_nothing_is_tried_again_after_a_day(wanted: Path, asked: list[list[str]]) -> None:
    compiling.quietly(0.0).join()
    (tried,) = wanted.rglob("tried")
    os.utime(tried, (0, 0))
    compiling.quietly(0.0).join()
    assert len(asked) == 2


def test_without_a_compiler_or_a_place_nothing_happens(
    wanted: Path, asked: list[list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    wanted.write_text("no folder", "utf-8")
    compiling.quietly(0.0).join()
    monkeypatch.setattr(compiling.util, "find_spec", lambda _: None)
    assert compiling.folder() is None
    assert compiling.main() == 1
    compiling.quietly(0.0).join()
    assert asked == []


def test_another_source_or_another_version_has_another_folder(wanted: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    here = compiling.folder()
    assert here == compiling.folder()
    monkeypatch.setattr(compiling.metadata, "version", lambda name: "99")
    assert compiling.folder() != here


def test_a_process_that_cannot_be_started_is_no_matter(wanted: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def run(*_: Any, **__: Any) -> None:
        raise OSError("no more processes")

    monkeypatch.setattr(subprocess, "run", run)
    compiling.quietly(0.0).join()
    assert not fast.loaded()
