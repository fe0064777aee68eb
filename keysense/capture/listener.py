"""The listener: a process of its own that writes down what comes from the keys, and does nothing else.

Started by `keysense.capture.supervisor` as ``python -m keysense.capture.listener --journal FOLDER``. It ends when its
standard input closes, so it never outlives the window that shows that it listens. What it may import is kept small,
because after a crash nothing is heard until it is up again: no numpy, no database, no reading of what was played.
"""

from __future__ import annotations

import argparse
import gc
import os
import signal
import sys
import threading
from pathlib import Path

from keysense.capture.ear import Ear
from keysense.capture.journal import JournalWriter
from keysense.capture.lock import LOCK, hold
from keysense.capture.state import ListeningState
from keysense.errors import AlreadyListening, JournalError, KeysenseError, PortError

__all__ = ["EXIT_CODES", "main"]

# how the process ends -> the error that its supervisor raises; 0 is an orderly end, anything else a crash
EXIT_CODES: dict[int, type[KeysenseError]] = {4: AlreadyListening, 5: JournalError, 6: PortError}
POLL_S = 0.2


def main(arguments: list[str] | None = None) -> int:
    """Listen until standard input closes; the exit code is 0 or one of `EXIT_CODES`, with one line on stderr."""
    options = _options(arguments)
    folder = Path(options.journal)
    try:
        lock = hold(folder / LOCK)
        journal = JournalWriter(folder)
        journal.wall()
        journal.mark("start", pid=os.getpid(), again=options.again)
        if journal.trouble:
            raise JournalError(journal.trouble)
        ear = Ear(journal, ListeningState(folder), options.piano, options.api or None)
        ear.begin(first=not options.again)
    except KeysenseError as cause:
        print(f"keysense: {cause}", file=sys.stderr, flush=True)  # noqa: T201 - the supervisor reads this line
        return next((code for code, kind in EXIT_CODES.items() if isinstance(cause, kind)), 1)
    gc.freeze()
    gc.disable()  # nothing here makes cycles, and a collection would hold up a key
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C in the window is the supervisor's to answer
    over = _when_parent_goes()
    ear.look()
    while not over.wait(POLL_S):
        ear.look()
    ear.end()
    journal.close()
    lock.release()
    return 0


def _options(arguments: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="keysense.capture.listener", description="Writes down what the keys send.")
    parser.add_argument("--journal", required=True, help="the studio's journal folder")
    parser.add_argument("--piano", default="", help="part of the piano's name")
    parser.add_argument("--api", default="", help="the MIDI system")
    parser.add_argument("--again", type=int, default=0, help="how often it was started before in this sitting")
    return parser.parse_args(arguments)


def _when_parent_goes() -> threading.Event:
    """Is set when standard input closes: the supervisor's way of saying stop, and what its death looks like."""
    over = threading.Event()

    def wait() -> None:
        while sys.stdin.buffer.read(1):
            pass
        over.set()

    threading.Thread(target=wait, name="until-stdin-closes", daemon=True).start()
    return over


if __name__ == "__main__":
    sys.exit(main())
