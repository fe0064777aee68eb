"""Keeps the listener alive: starts it, starts it again when it dies, and ends it in order."""

from __future__ import annotations

import subprocess
import sys
import threading
import time
from pathlib import Path

from keysense.capture.listener import EXIT_CODES
from keysense.capture.state import ListeningState
from keysense.errors import CaptureError, KeysenseError

__all__ = ["Supervisor"]

# the first time: long enough for a slow disk and a virus scanner
_START_S = 15.0
_END_S = 5.0
_SAYS = "keysense:"
# a listener that dies before it is up is started again less and less often; one that was up, at once
_WAITS_S = (0.0, 0.0, 0.2, 0.5, 1.0, 2.0)


class Supervisor:
    """One listener process for the journal in ``folder``.

    piano: part of the piano's name, or nothing for the one remembered. api: the MIDI system, see
    `keysense.capture.port`. ``restarts`` counts how often it had to be started again; ``trouble`` is what it
    last complained of, or nothing; ``failed`` is what ended it for good.
    """

    def __init__(self, folder: str | Path, piano: str = "", api: str | None = None) -> None:
        self.folder = Path(folder)
        self.restarts = 0
        self.failed: KeysenseError | None = None
        self._piano = piano
        self._api = api
        self._process: subprocess.Popen[bytes] | None = None
        self.trouble = ""
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._keep_alive, name="supervisor", daemon=True)

    @property
    def pid(self) -> int:
        """The listener's process number, 0 while there is none."""
        return self._process.pid if self._process and self._process.poll() is None else 0

    def start(self) -> None:
        """Start the listener and wait until it listens or waits for a piano.

        Raises AlreadyListening, JournalError (folder or disk) or PortError (no MIDI system) as the listener found it.
        """
        self._process = self._spawn()
        state = ListeningState(self.folder)
        deadline = time.monotonic() + _START_S
        while state.now().pid != self._process.pid:
            code = self._process.poll()
            if code is not None:
                self._drain(self._process)
                raise self._why(code)
            if time.monotonic() > deadline:
                self.stop()
                raise CaptureError(f"the listener did not start within {_START_S:.0f} s: try again")
            time.sleep(0.02)
        self._thread.start()

    def stop(self) -> None:
        """End the listener in order: it closes the piano and its journal."""
        self._stopping.set()
        process = self._process
        if process is not None:
            if process.stdin:
                process.stdin.close()
            try:
                process.wait(_END_S)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
        if self._thread.is_alive():
            self._thread.join(_END_S)
        if process is not None and process.stderr:
            process.stderr.close()

    def _keep_alive(self) -> None:
        failures = 0
        state = ListeningState(self.folder)
        while not self._stopping.is_set():
            process = self._process
            if process is None:
                return
            reader = threading.Thread(target=self._drain, args=(process,), daemon=True)
            reader.start()
            code = process.wait()
            reader.join(1.0)
            if self._stopping.is_set():
                return
            if code in EXIT_CODES:
                self.failed = self._why(code)
                return
            failures = 0 if state.now().pid == process.pid else failures + 1
            if self._stopping.wait(_WAITS_S[min(failures, len(_WAITS_S) - 1)]):
                return
            self.restarts += 1
            self._forget(process)
            self._process = self._spawn()

    def _spawn(self) -> subprocess.Popen[bytes]:
        command = [sys.executable, "-m", "keysense.capture.listener", "--journal", str(self.folder)]
        command += ["--piano", self._piano, "--api", self._api or "", "--again", str(self.restarts)]
        flags = getattr(subprocess, "CREATE_NO_WINDOW", 0)
        return subprocess.Popen(  # noqa: S603 - our own module by our own interpreter
            command, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, creationflags=flags
        )

    def _drain(self, process: subprocess.Popen[bytes]) -> None:
        """Read what the process says, so that the pipe never fills; MIDI systems are talkative."""
        if process.stderr is None:
            return
        for line in process.stderr:
            said = line.decode(errors="replace").strip()
            if said.startswith(_SAYS):
                self.trouble = said.removeprefix(_SAYS).strip()

    def _forget(self, process: subprocess.Popen[bytes]) -> None:
        for pipe in (process.stdin, process.stderr):
            if pipe:
                pipe.close()

    def _why(self, code: int) -> KeysenseError:
        kind = EXIT_CODES.get(code, CaptureError)
        return kind(self.trouble or f"the listener ended by itself (code {code}): try again")
