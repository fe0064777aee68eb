"""Wiping from the journals what belongs to no kept take."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from keysense.capture.journal import journals, read_journal, wipe_between
from keysense.capture.records import Kind, Record
from keysense.capture.state import write_small

__all__ = ["forget"]

SWEPT = "swept.json"


def forget(folder: str | Path, keep: Mapping[str, Sequence[tuple[int, int]]], before_ns: int) -> int:
    """Wipe every message older than ``before_ns`` (ns since 1970, UTC) that lies in no stretch to ``keep``.

    keep: journal file name to (start, end) in bytes. A past day's file with no message left in it is taken away.
    Gives how many messages were wiped. Raises JournalError where a journal cannot be read or written.
    """
    folder = Path(folder)
    files = journals(folder)
    swept = _swept(folder)
    wiped = 0
    for path in files:
        if path.name in swept:
            continue
        records = read_journal(path).records
        end = _older_end(records, before_ns, path.stat().st_mtime_ns)
        spans = [*keep.get(path.name, ())]
        wiped += wipe_between(path, spans, end)
        if path == files[-1] or not records or end < records[-1].end:
            continue
        if spans:
            swept.add(path.name)
        elif not any(record.kind is Kind.MESSAGE for record in read_journal(path).records):
            path.unlink()
    with suppress(OSError):
        write_small(folder / SWEPT, {"files": sorted(swept & {path.name for path in files})})
    return wiped


def _older_end(records: Sequence[Record], before_ns: int, changed_ns: int) -> int:
    """The byte after the last record older than ``before_ns``; where no clock is told, the file's own date serves."""
    end, offset_ns = 0, None
    for record in records:
        if record.kind is Kind.WALL:
            offset_ns = record.wall_ns() - record.time_ns
        when_ns = changed_ns if offset_ns is None else record.time_ns + offset_ns
        # a blank record says nothing, not even when: it is as old as what stands before it
        if record.kind is not Kind.BLANK and when_ns >= before_ns:
            return end
        end = record.end
    return end


def _swept(folder: Path) -> set[str]:
    """Past days in which nothing is left to wipe; what is dropped from them later is wiped when it is dropped."""
    try:
        return {str(name) for name in json.loads((folder / SWEPT).read_text("utf-8"))["files"]}
    except (OSError, ValueError, KeyError, TypeError):
        return set()
