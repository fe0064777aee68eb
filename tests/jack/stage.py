"""What the JACK tests and benchmarks stand on: a second process as piano, one as witness, and keysense listening."""

from __future__ import annotations

import contextlib
import json
import signal
import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from types import TracebackType
from typing import Self

from keysense.capture.journal import journals, read_journal
from keysense.capture.records import Kind, Record
from tests.jack.server import Jack, wait_for

PIANO = "Test Piano"

Messages = Sequence[tuple[float, bytes]]

# The second process. It knows nothing of the first but the name of the JACK server.
_PLAY = """
import json, signal, sys
from keysense.capture.port import play_out
signal.signal(signal.SIGTERM, lambda *_: sys.exit())
messages = [(at, bytes.fromhex(raw)) for at, raw in json.loads(sys.stdin.readline())]
print("there", flush=True)
sys.stdin.readline()
def ready():
    print("ready", flush=True)
    sys.stdin.readline()
def done(sent):
    print(json.dumps(sent), flush=True)
    sys.stdin.read()
play_out(messages, as_piano=sys.argv[1], api="jack", ready=ready, done=done)
"""


# A third process that listens to the same piano and is never killed: what it heard was delivered.
_WITNESS = """
import json, sys
from keysense.capture.port import open_port
heard = []
inlet = open_port(sys.argv[1], lambda time_ns, raw: heard.append((time_ns, raw.hex())), "jack")
print("ready", flush=True)
sys.stdin.readline()
print(json.dumps(heard), flush=True)
"""


class Piano:
    """A second process that plays messages through a JACK port: `__enter__` plugs it in, `play` starts it.

    It is there before it is plugged in: a busy machine takes seconds to start a process. Unplugged, it takes leave of
    JACK: a ``sync`` server would wait 5 s for one that is killed.
    """

    def __init__(self, jack: Jack, messages: Messages = (), name: str = PIANO) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-c", _PLAY, name],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=jack.env,
            text=True,
        )
        self._say(json.dumps([(at, raw.hex()) for at, raw in messages]))
        assert self._hear() == "there"

    def __enter__(self) -> Self:
        self._say("plug in")
        assert self._hear() == "ready"
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.unplug()

    def play(self) -> None:
        self._say("go")

    def played(self) -> list[int]:
        """When each message was sent (perf_counter_ns), once all have been."""
        sent: list[int] = json.loads(self._hear())
        return sent

    def unplug(self) -> None:
        self._process.terminate()
        try:
            self._process.wait(10)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        for pipe in (self._process.stdin, self._process.stdout):
            with contextlib.suppress(BrokenPipeError):
                if pipe:
                    pipe.close()

    def _say(self, line: str) -> None:
        assert self._process.stdin
        self._process.stdin.write(line + "\n")
        self._process.stdin.flush()

    def _hear(self) -> str:
        assert self._process.stdout
        return self._process.stdout.readline().strip()


class Witness:
    """Hears what the piano sends, beside the listener, to the end."""

    def __init__(self, jack: Jack, name: str = PIANO) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-c", _WITNESS, name],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=jack.env,
            text=True,
        )
        assert self._process.stdout
        assert self._process.stdout.readline().strip() == "ready"

    def heard(self) -> list[tuple[int, bytes]]:
        """All it heard, with the `perf_counter_ns` at which it did; it ends with this."""
        told, _ = self._process.communicate("\n", timeout=30)
        return [(time_ns, bytes.fromhex(raw)) for time_ns, raw in json.loads(told)]

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._process.poll() is None:
            self._process.kill()
            self._process.communicate()


class Hear:
    """`keysense hear` as a teacher starts it, in a process of its own."""

    def __init__(self, jack: Jack, studio: Path, *options: str) -> None:
        command = [sys.executable, "-m", "keysense", "hear", "--studio", str(studio), *options]
        self._out = studio.with_suffix(".out")
        self.journal = studio / "journal"
        with self._out.open("a") as out:
            self.process = subprocess.Popen(
                command, stdin=subprocess.DEVNULL, stdout=out, stderr=subprocess.PIPE, env=jack.env, text=True
            )

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)
            try:
                self.process.wait(20)
            except subprocess.TimeoutExpired:
                self.process.kill()
        self.process.wait()
        if self.process.stderr:
            self.process.stderr.close()

    @property
    def said(self) -> str:
        return self._out.read_text()

    def wait_to_hear(self, words: str, times: int = 1) -> None:
        wait_for(lambda: self.said.count(words) >= times or self.process.poll() is not None)
        assert self.said.count(words) >= times, f"{words!r} was not said in: {self.said}"


def records(folder: Path) -> list[Record]:
    return [record for path in journals(folder) for record in read_journal(path).records]


def marks(folder: Path) -> list[tuple[str, int]]:
    return [(record.mark, record.time_ns) for record in records(folder) if record.kind is Kind.MARK]


def sessions(folder: Path) -> list[int]:
    """When each listening heard its first message: the mark stands in the journal before the port is open."""
    firsts, waiting = [], False
    for record in records(folder):
        if record.kind is Kind.MESSAGE and waiting:
            firsts.append(record.time_ns)
        waiting = record.mark in ("open", "back") or (waiting and record.kind is not Kind.MESSAGE)
    return firsts


def lost_and_skipped(due: Sequence[bytes], heard: set[bytes]) -> tuple[int, int]:
    """Of the messages due in one listening, in order: how many are missing at its end, and how many before.

    The journal is written message by message, so a kill can only take from the end. What is missing before a message
    that is there never reached the listener: a server that is not ``sync`` leaves out whoever is late for its period.
    """
    there = [i for i, raw in enumerate(due) if raw in heard]
    last = there[-1] + 1 if there else 0
    return len(due) - last, last - len(there)


def raw_of(folder: Path) -> list[bytes]:
    return [record.payload for record in records(folder) if record.kind is Kind.MESSAGE]


def numbered(n: int, a_second: float, first: int = 0) -> Iterator[tuple[float, bytes]]:
    """``n`` messages, key down and key up in turn, of which no two within 200,000 are the same."""
    channels = [channel for channel in range(16) if channel != 9]
    for i in range(n):
        k = (first + i) // 2
        channel = channels[k // (128 * 127) % 15]
        yield i / a_second, bytes(((0x80 if i % 2 else 0x90) | channel, k % 128, 1 + k // 128 % 127))
