"""The journal of the day: everything that came from the keys, append-only, safe against a crash at any moment.

Conventions
    One file a UTC day, ``2026-03-14.journal``. One unbuffered write a record, so that what was written outlives the
    process; a thread asks for the disk every 50 ms, so that it outlives the machine. Times are nanoseconds of the
    machine's monotonic clock, tied to the wall clock by WALL records at the start and each minute.
    What must be forgotten is overwritten in place by blank records of the same length (`wipe`). Copy-on-write disks
    and backups may hold older blocks: that is beyond a file's reach.
"""

from __future__ import annotations

import errno
import json
import os
import struct
import threading
import time
from collections import deque
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from keysense.capture.records import Kind, Record, blank, pack, pack_mark, scan
from keysense.errors import JournalError
from keysense.files import sync, what_went_wrong

__all__ = ["Journal", "JournalWriter", "journals", "read_journal", "tail_journal", "wipe", "wipe_between"]

SUFFIX = ".journal"
SYNC_EVERY_S = 0.05
# a respawned listener goes on in the file of the one before, even across midnight
_SAME_SITTING_S = 60.0
# some hours of playing
_WAIT_AT_MOST = 200_000
_BINARY = getattr(os, "O_BINARY", 0)


@dataclass(frozen=True)
class Journal:
    """What was read: whole records, stretches a crash tore, and the byte up to which all is accounted for."""

    records: list[Record]
    torn: list[tuple[int, int]]
    end: int


class JournalWriter:
    """Appends records to the journal of the day in ``folder``. Raises JournalError where it cannot be written.

    A write that fails later loses nothing: ``trouble`` says why in one line, the records wait in memory, and they
    are tried again until there is room.
    """

    def __init__(self, folder: str | Path) -> None:
        self.folder = Path(folder)
        self.trouble = ""
        self._lock = threading.Lock()
        self._dirty = False
        self._waiting: deque[bytes] = deque(maxlen=_WAIT_AT_MOST)
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
        except OSError as cause:
            raise JournalError(what_went_wrong(cause, self.folder)) from cause
        self.path = self._file_to_go_on_with()
        self._descriptor = self._open()
        self._stop = threading.Event()
        self._syncer = threading.Thread(target=self._sync_now_and_then, name="journal-sync", daemon=True)
        self._syncer.start()

    def message(self, raw: bytes, time_ns: int, port: int = 0) -> None:
        """Append MIDI bytes as they came. Never raises: it is called where the piano is being heard."""
        self._append(pack(Kind.MESSAGE, raw, time_ns, port))

    def mark(self, word: str, port: int = 0, **more: Any) -> None:
        """Append a word about the listening itself, at this moment."""
        self._append(pack_mark(word, time.perf_counter_ns(), port, **more))

    def wall(self) -> None:
        """Append what the wall clock says now."""
        now = time.perf_counter_ns()
        self._append(pack(Kind.WALL, struct.pack("<q", time.time_ns()), now))

    def count(self, counted: dict[str, int]) -> None:
        """Append how many messages were counted and not kept."""
        self._append(pack(Kind.COUNT, json.dumps(counted).encode(), time.perf_counter_ns()))

    def roll(self) -> bool:
        """Go over to the file of a new day, if there is one. To be called only while nothing is played."""
        path = self.folder / _name_of_today()
        if path == self.path:
            return False
        with self._lock:
            os.close(self._descriptor)
            self.path = path
            self._descriptor = self._open()
        self.mark("roll")
        self.wall()
        return True

    def close(self) -> None:
        """Sync and close."""
        self._stop.set()
        self._syncer.join()
        with self._lock:
            if self._descriptor >= 0:
                self._write_waiting()
                sync(self._descriptor)
                os.close(self._descriptor)
                self._descriptor = -1

    def _append(self, record: bytes) -> None:
        with self._lock:
            self._waiting.append(record)
            self._write_waiting()

    def _write_waiting(self) -> None:
        """Write what waits, in order. What a full disk refuses waits in memory and is tried again."""
        try:
            while self._waiting:
                written = os.write(self._descriptor, self._waiting[0])
                if written < len(self._waiting[0]):  # the disk filled up inside this record: take the half away
                    os.ftruncate(self._descriptor, os.fstat(self._descriptor).st_size - written)
                    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
                self._waiting.popleft()
                self._dirty = True
            self.trouble = ""
        except OSError as cause:
            self.trouble = what_went_wrong(cause, self.path)

    def _sync_now_and_then(self) -> None:
        while not self._stop.wait(SYNC_EVERY_S):
            if self._waiting:
                with self._lock:
                    self._write_waiting()
            if not self._dirty:
                continue
            self._dirty = False
            try:
                copy = os.dup(self._descriptor)  # so that rolling over cannot close it under the sync
                try:
                    sync(copy)
                finally:
                    os.close(copy)
            except OSError as cause:
                self.trouble = what_went_wrong(cause, self.path)

    def _open(self) -> int:
        try:
            return os.open(self.path, os.O_WRONLY | os.O_APPEND | os.O_CREAT | _BINARY, 0o600)
        except OSError as cause:
            raise JournalError(what_went_wrong(cause, self.path)) from cause

    def _file_to_go_on_with(self) -> Path:
        known = journals(self.folder)
        if known and time.time() - known[-1].stat().st_mtime < _SAME_SITTING_S:
            return known[-1]
        return self.folder / _name_of_today()


def journals(folder: str | Path) -> list[Path]:
    """The journals in a folder, the oldest first."""
    return sorted(Path(folder).glob("*" + SUFFIX))


def read_journal(path: str | Path) -> Journal:
    """A whole journal. Raises JournalError where it cannot be read; a torn record is told of, never read as good."""
    return tail_journal(path, 0)


def tail_journal(path: str | Path, offset: int) -> Journal:
    """What stands in a journal from byte ``offset`` on; go on later from the ``end`` of what this gives.

    A record still being written is left for the next call. Raises JournalError where the file cannot be read.
    """
    try:
        with Path(path).open("rb") as file:
            file.seek(offset)
            data = file.read()
    except OSError as cause:
        raise JournalError(what_went_wrong(cause, path)) from cause
    records: list[Record] = []
    torn: list[tuple[int, int]] = []
    for piece in scan(data, offset):
        if isinstance(piece, Record):
            records.append(piece)
        else:
            torn.append(piece)
    return Journal(records, torn, records[-1].end if records else offset)


def wipe(path: str | Path, start: int, end: int) -> int:
    """Overwrite every message that lies in bytes ``start`` to ``end``; how many there were.

    The marks of the listening itself stay: they hold no playing. Raises JournalError where it cannot be done.
    """
    journal = read_journal(path)
    gone = [r for r in journal.records if r.kind is Kind.MESSAGE and start <= r.start and r.end <= end]
    torn = [(a, b) for a, b in journal.torn if start <= a and b <= end]
    _overwrite(Path(path), [(r.start, blank(r.end - r.start)) for r in gone] + [(a, bytes(b - a)) for a, b in torn])
    return len(gone)


def wipe_between(path: str | Path, keep: list[tuple[int, int]], end: int) -> int:
    """Overwrite every message before byte ``end`` that lies in none of the stretches to ``keep``; how many."""
    edges = [0, *(edge for span in sorted(keep) for edge in span), end]
    return sum(wipe(path, a, min(b, end)) for a, b in zip(edges[::2], edges[1::2], strict=True) if a < min(b, end))


def _overwrite(path: Path, patches: list[tuple[int, bytes]]) -> None:
    if not patches:
        return
    try:
        with path.open("r+b") as file:
            for offset, data in patches:
                file.seek(offset)
                file.write(data)
            file.flush()
            sync(file.fileno())
    except OSError as cause:
        raise JournalError(what_went_wrong(cause, path)) from cause


def _name_of_today() -> str:
    return datetime.now(UTC).strftime("%Y-%m-%d") + SUFFIX
