"""Cutting a stream of MIDI bytes into messages.

Reference: MIDI 1.0 Detailed Specification 4.2, from memory: a channel message may leave its status byte out when it is
that of the message before (running status); real-time bytes may fall between any two others; a system message ends
running status.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from keysense.errors import NotesError

__all__ = ["MESSAGE_LENGTHS", "Message", "MessageReader", "whole_messages"]

Message = tuple[float, bytes]

# data bytes after each status of a channel message, by its upper half
MESSAGE_LENGTHS = {0x80: 2, 0x90: 2, 0xA0: 2, 0xB0: 2, 0xC0: 1, 0xD0: 1, 0xE0: 2}
_COMMON_LENGTHS = {0xF1: 1, 0xF2: 2, 0xF3: 1}


def whole_messages(messages: Iterable[Message]) -> Iterator[Message]:
    """Each message on its own with its status byte, running status and packets undone.

    System exclusive comes whole (F0 ... F7); real-time and other system messages, and bytes that belong to no
    message, are left out. Raises NotesError on a time that is not finite.
    """
    reader = MessageReader()
    for time_s, raw in messages:
        if not math.isfinite(time_s):
            raise NotesError(f"a message came at {time_s} s: every time must be a finite number of seconds")
        for message in reader.feed(raw):
            yield time_s, message


class MessageReader:
    """Cuts a stream of bytes into messages; remembers running status and open system exclusive between packets."""

    def __init__(self) -> None:
        self._status = 0
        self._wanted = 0
        self._data = bytearray()
        self._exclusive: bytearray | None = None

    def feed(self, raw: bytes) -> Iterator[bytes]:
        """The messages that these bytes finish."""
        for byte in raw:
            if byte >= 0xF8:  # real time may fall between any two bytes and changes nothing
                continue
            if byte >= 0x80:
                done = self._begin(byte)
            elif self._exclusive is not None:
                self._exclusive.append(byte)
                continue
            else:
                done = self._data_byte(byte)
            if done:
                yield done

    def _begin(self, status: int) -> bytes | None:
        exclusive, self._exclusive = self._exclusive, None
        self._data.clear()
        if status == 0xF7:
            self._status = 0
            return bytes(exclusive) + b"\xf7" if exclusive else None
        if status == 0xF0:
            self._exclusive = bytearray([status])
        # a system message ends running status; its own data bytes are swallowed by `_data_byte`
        self._status = 0 if status in (0xF0, 0xF4, 0xF5, 0xF6) else status
        self._wanted = MESSAGE_LENGTHS.get(status & 0xF0, _COMMON_LENGTHS.get(status, 0))
        return None

    def _data_byte(self, byte: int) -> bytes | None:
        if not self._status:
            return None
        self._data.append(byte)
        if len(self._data) < self._wanted:
            return None
        message = bytes([self._status, *self._data])
        self._data.clear()
        if self._status >= 0xF0:
            self._status = 0
            return None
        return message
