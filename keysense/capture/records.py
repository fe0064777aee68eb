"""One record of the journal: how it is packed, and how whole records are told from torn ones.

Layout (little-endian)
    2 bytes A5 4B, kind u1, port u1, length of the payload u4, time i8 (nanoseconds of the machine's own clock),
    payload, CRC32 u4 over all that stands before it. The first byte of the mark cannot occur in MIDI data bytes.
    A record that a crash tore is passed over: reading goes on at the next whole one.
"""

from __future__ import annotations

import json
import struct
import zlib
from collections.abc import Iterator
from enum import IntEnum
from typing import Any, NamedTuple

__all__ = ["OVERHEAD", "Kind", "Record", "blank", "pack", "pack_mark", "scan"]

_MAGIC = b"\xa5\x4b"
_HEAD = struct.Struct("<2sBBIq")
_CRC = struct.Struct("<I")
OVERHEAD = _HEAD.size + _CRC.size
# longer than any system exclusive a piano sends; a torn length must not swallow the rest of the day
_LONGEST = 1 << 20


class Kind(IntEnum):
    """What a record holds.

    BLANK: wiped. MESSAGE: MIDI bytes as they came. MARK: a word about the listening itself, as JSON.
    WALL: the wall clock at this moment, i8 nanoseconds since 1970 in UTC. COUNT: messages counted, not kept, as JSON.
    """

    BLANK = 0
    MESSAGE = 1
    MARK = 2
    WALL = 3
    COUNT = 4


_KINDS = frozenset(int(kind) for kind in Kind)


class Record(NamedTuple):
    """A whole record and the bytes of the file it fills: ``start`` to ``end``, the byte after its last."""

    start: int
    end: int
    kind: Kind
    port: int
    time_ns: int
    payload: bytes

    @property
    def mark(self) -> str:
        """The word of a MARK record, else nothing."""
        return str(self.said().get("mark", "")) if self.kind is Kind.MARK else ""

    def said(self) -> dict[str, Any]:
        """What a MARK or COUNT record says."""
        told: dict[str, Any] = json.loads(self.payload)
        return told

    def wall_ns(self) -> int:
        """What a WALL record says."""
        return int(struct.unpack("<q", self.payload)[0])


def pack(kind: Kind, payload: bytes, time_ns: int, port: int = 0) -> bytes:
    """The bytes of one record."""
    head = _HEAD.pack(_MAGIC, kind, port, len(payload), time_ns) + payload
    return head + _CRC.pack(zlib.crc32(head))


def pack_mark(word: str, time_ns: int, port: int = 0, **more: Any) -> bytes:
    """The bytes of a MARK record."""
    return pack(Kind.MARK, json.dumps({"mark": word, **more}).encode(), time_ns, port)


def blank(length: int) -> bytes:
    """A whole record of ``length`` bytes in all (at least `OVERHEAD`) that says nothing, not even when."""
    return pack(Kind.BLANK, bytes(length - OVERHEAD), 0)


def scan(data: bytes, base: int = 0) -> Iterator[Record | tuple[int, int]]:
    """Whole records in order, and between them ``(start, end)`` of what a crash tore.

    ``base`` is where ``data`` begins in its file. What stands after the last whole record is not told of: it may
    still be being written.
    """
    at = 0
    while at < len(data):
        record = _whole(data, at, base)
        if record is None:
            found = _next_whole(data, at + 1, base)
            if found is None:
                return
            yield base + at, found.start
            record = found
        yield record
        at = record.end - base


def _next_whole(data: bytes, at: int, base: int) -> Record | None:
    while (at := data.find(_MAGIC, at)) >= 0:
        if record := _whole(data, at, base):
            return record
        at += 1
    return None


def _whole(data: bytes, at: int, base: int) -> Record | None:
    """The record that begins at ``at``, if all of it is there and its CRC holds."""
    if len(data) - at < OVERHEAD:
        return None
    magic, kind, port, length, time_ns = _HEAD.unpack_from(data, at)
    end = at + OVERHEAD + length
    if magic != _MAGIC or length > _LONGEST or end > len(data) or kind not in _KINDS:
        return None
    body = data[at : end - _CRC.size]
    if zlib.crc32(body) != _CRC.unpack_from(data, end - _CRC.size)[0]:
        return None
    return Record(base + at, base + end, Kind(kind), port, time_ns, body[_HEAD.size :])
