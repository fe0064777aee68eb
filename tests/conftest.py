"""What every test shares: a studio of its own, no way out of this machine, and a word on what could not be run."""

from __future__ import annotations

import os
import shutil
import socket
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import platformdirs
import pytest
from hypothesis import settings

if TYPE_CHECKING:
    from playwright.sync_api import Browser

ROOT = Path(__file__).resolve().parent.parent
if str(ROOT) not in sys.path:  # last, so that the installed keysense is the one tested
    sys.path.append(str(ROOT))

# On a clean clone the same examples each time, so that a change is judged by what it changed; at a desk new ones.
settings.register_profile("settled", derandomize=True)
if os.environ.get("CI") == "true":
    settings.load_profile("settled")

# marker -> the programs of which one must be on the machine
PROGRAMS = {"browser": ("chromium", "chromium-browser", "google-chrome", "chrome"), "jack": ("jackd",)}
NOT_RUN = pytest.StashKey[dict[str, str]]()
_connect = socket.socket.connect


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Names each test whose program is not there; under CI that is a failure (see `pytest_sessionfinish`)."""
    not_run = config.stash.setdefault(NOT_RUN, {})
    for marker, programs in PROGRAMS.items():
        if any(shutil.which(program) for program in programs):
            continue
        for item in items:
            if item.get_closest_marker(marker):
                not_run[item.nodeid] = programs[0]
                item.add_marker(pytest.mark.skip(reason=f"{programs[0]} is not on this machine"))


def pytest_terminal_summary(terminalreporter: Any, config: pytest.Config) -> None:
    """Prints by name what was not run."""
    not_run = {report.nodeid: report.longrepr[2] for report in terminalreporter.getreports("skipped")}
    for test, reason in sorted(not_run.items()):
        terminalreporter.write_line(f"NOT RUN: {test} ({reason})", yellow=True)


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Under CI a test that could not be run is a failure."""
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    if os.environ.get("CI") == "true" and reporter is not None and reporter.stats.get("skipped"):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


@pytest.fixture(autouse=True)
def _own_studio(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No test touches the studio of whoever runs it."""
    monkeypatch.setenv("KEYSENSE_STUDIO", str(tmp_path / "studio"))
    monkeypatch.setenv("KEYSENSE_NO_COMPILER", "1")  # nor starts a compiler behind the others


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One real Chromium for all tests of a process: a second one beside it cannot be driven."""
    from fixtures.chromium import chromium  # only where it is asked for: most tests do without

    with chromium() as opened:
        yield opened


@pytest.fixture(scope="session", autouse=True)
def _home_stays_as_it_was() -> Iterator[None]:
    """The folders where a teacher's own studio would lie are the same after the tests as before."""
    folders = (platformdirs.user_data_path("keysense"), platformdirs.user_config_path("keysense"))
    before = [_listing(folder) for folder in folders]
    yield
    assert [_listing(folder) for folder in folders] == before, "a test wrote into the home folder"


def _listing(folder: Path) -> list[tuple[str, float]]:
    return sorted((str(path), path.stat().st_mtime) for path in folder.rglob("*")) if folder.exists() else []


@pytest.fixture(autouse=True)
def _no_network(monkeypatch: pytest.MonkeyPatch) -> None:
    """keysense works without a network, so nothing may call out of this machine."""

    def connect(self: socket.socket, address: Any) -> None:
        if isinstance(address, tuple) and address[0] not in ("127.0.0.1", "localhost", "::1"):
            raise AssertionError(f"a test called out of this machine: {address}")
        return _connect(self, address)

    monkeypatch.setattr(socket.socket, "connect", connect)
