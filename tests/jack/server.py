"""A JACK server without hardware, for one run of tests alone."""

from __future__ import annotations

import contextlib
import os
import shutil
import subprocess
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import Self

from filelock import FileLock, Timeout

PERIOD, RATE = 256, 48_000


class Jack:
    """A JACK server without hardware, under a name of its own.

    ``sync``: no event is ever late for its period; but a client that is killed makes the server wait 5 s. ``period``:
    in frames; a long one lets a busy machine keep up where the server is not ``sync``.
    """

    def __init__(self, *, sync: bool = False, period: int = PERIOD) -> None:
        self.period_s = period / RATE
        self._lock = _a_name_of_our_own()
        self.name = Path(self._lock.lock_file).stem
        self.env = {
            **os.environ,
            "JACK_DEFAULT_SERVER": self.name,
            "JACK_NO_START_SERVER": "1",
            "KEYSENSE_MIDI": "jack",
        }
        self._command = ["jackd", *(["--sync"] if sync else []), "--no-realtime", "--name", self.name, "-d", "dummy"]
        self._command += ["--rate", str(RATE), "--period", str(period)]
        self._server: subprocess.Popen[bytes] | None = None

    def __enter__(self) -> Self:
        self.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.stop()
        self._lock.release()

    def start(self) -> None:
        _clear_what_dead_servers_left()
        for last in (False, True):
            self._server = subprocess.Popen(
                self._command,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                env=self.env,
            )
            try:
                wait_for(self._answers, 20 if last else 6)
                return
            except AssertionError:
                self.stop()
                if last:
                    raise

    def stop(self) -> None:
        if self._server is not None:
            self._server.terminate()
            try:
                self._server.wait(10)
            except subprocess.TimeoutExpired:
                self._server.kill()
                self._server.wait()
            self._server = None
        _clear(f"jack*_{self.name}_*")

    def _answers(self) -> bool:
        try:
            asked = subprocess.run(["jack_lsp"], env=self.env, capture_output=True, timeout=5)
        except subprocess.TimeoutExpired:
            return False
        return asked.returncode == 0


def _a_name_of_our_own() -> FileLock:
    """A server name that no other run uses now. JACK keeps room for eight names, and one that died keeps its room
    until it comes again, so the names are few and come again."""
    for number in range(4):
        lock = FileLock(Path(tempfile.gettempdir()) / f"kstest{number}.lock")
        with contextlib.suppress(Timeout):
            lock.acquire(timeout=0)
            return lock
    raise AssertionError("four runs of these tests at once are too many for JACK")


def _clear_what_dead_servers_left() -> None:
    """Where no server lives, none can miss what is taken away here: names and locks of those that died."""
    for process in Path("/proc").glob("[0-9]*/comm"):
        with contextlib.suppress(OSError):
            if process.read_text().strip() == "jackd":
                return
    _clear("jack*")


def _clear(pattern: str) -> None:
    for place in Path("/dev/shm").glob(pattern):
        if place.is_dir():
            shutil.rmtree(place, ignore_errors=True)
        else:
            place.unlink(missing_ok=True)


def wait_for(what: Callable[[], object], limit_s: float = 30.0) -> None:
    """Wait until something is so; a limit far beyond what it should take keeps a failing test from hanging."""
    end = time.monotonic() + limit_s
    while not what():
        assert time.monotonic() < end, "what was waited for did not come"
        time.sleep(0.02)
