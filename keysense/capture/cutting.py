"""Where one playing ends and the next begins, decided from the journal after the fact. Pure: no clock, no file.

A take ends when all keys are up, the sustain pedal stands below 64 and nothing has sounded for ``silence_s``; or 20 s
after the last key went down, whatever is held (``still_held``).

Flags
    ``still_held``  a key or the pedal was down to the end;
    ``cut``         the piano's cable went, or the piano was switched off, while it lasted;
    ``gap``         the listening broke off within the take and began again: keys may be missing there;
    ``stopped``     listening was switched off while it lasted;
    ``recovered``   a crash left it open, and it was taken up from the journal later (set by `keysense.listening`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field

from keysense.capture.records import Kind, Record
from keysense.wire import Message, MessageReader

__all__ = ["HELD_LIMIT_S", "PEDAL_DOWN", "SILENCE_S", "Cutter", "Span", "begins_ns", "cut", "messages_of"]

SILENCE_S = 3.0
HELD_LIMIT_S = 20.0
PEDAL_DOWN = 64
_SUSTAIN = 64
_DRUMS = 9
# a pedal pressed long before the first key does not make the take begin then
_LEAD_S = 1.0
# the machine's clock never goes back while it runs: if it did by so much, the machine was started anew
_CLOCK_BACK_NS = 1_000_000_000


@dataclass(frozen=True)
class Span:
    """One playing in the journal.

    start, end: bytes of the file. start_ns, end_ns: first and last event by the machine's clock. wall_ns: when it
    began, nanoseconds since 1970 in UTC, 0 where the journal does not say. n: keys struck. lost_ns: when the piano
    vanished within it. played: its events as (nanoseconds, bytes).
    """

    start: int
    end: int
    start_ns: int
    end_ns: int
    wall_ns: int
    n: int
    flags: tuple[str, ...] = ()
    lost_ns: tuple[int, ...] = ()
    played: tuple[tuple[int, bytes], ...] = field(default=(), repr=False)


@dataclass
class _Open:
    """A playing that has not ended yet."""

    start: int
    start_ns: int
    end: int = 0
    end_ns: int = 0
    n: int = 0
    flags: set[str] = field(default_factory=set)
    lost_ns: list[int] = field(default_factory=list)
    played: list[tuple[int, bytes]] = field(default_factory=list)


class Cutter:
    """Is fed the records in order and gives back each playing once it has ended.

    silence_s: seconds, or a function of the last pitch struck that gives them, so that a written rest is waited out.
    """

    def __init__(
        self, silence_s: float | Callable[[int], float] = SILENCE_S, held_limit_s: float = HELD_LIMIT_S
    ) -> None:
        self._silence_s = silence_s if callable(silence_s) else (lambda _: silence_s)
        self._held_limit_ns = round(held_limit_s * 1e9)
        self._reader = MessageReader()
        self._open: _Open | None = None
        self._down: set[tuple[int, int]] = set()
        self._pedals: set[int] = set()
        self._quiet_ns = 0
        self._struck_ns = 0
        self._last_pitch = 0
        self._last_ns = 0
        self._wall: tuple[int, int] | None = None

    @property
    def idle(self) -> bool:
        """Nothing is being played."""
        return self._open is None

    def feed(self, record: Record) -> list[Span]:
        """The playings that ended before or with this record."""
        if record.kind is Kind.WALL:
            self._wall = (record.time_ns, record.wall_ns())
        if record.kind is Kind.MARK:
            return self._marked(record)
        if record.kind is not Kind.MESSAGE:
            return []
        ended = self.advance(record.time_ns)
        for message in self._reader.feed(record.payload):
            self._heard(record, message)
        if self._open:
            self._open.end, self._open.end_ns = record.end, record.time_ns
            self._open.played.append((record.time_ns, record.payload))
        self._last_ns = record.time_ns
        if self._open and not self._open.n and not self._pedals:
            self._open = None  # the pedal went down and up, and no key was struck
        return ended

    def advance(self, now_ns: int) -> list[Span]:
        """The playing that has ended by ``now_ns``, if one has. A clock that went back means that all has ended."""
        if not self._open:
            return []
        if now_ns < self._last_ns - _CLOCK_BACK_NS:
            return self.finish("gap")
        if self._quiet and now_ns - self._quiet_ns >= self._silence_s(self._last_pitch) * 1e9:
            return self.finish()
        if self._open.n and now_ns - self._struck_ns >= self._held_limit_ns:
            return self.finish()
        return []

    def finish(self, flag: str = "") -> list[Span]:
        """End the open playing here; ``flag`` says why, if it did not come to rest by itself."""
        playing, self._open = self._open, None
        held = not self._quiet
        self._down.clear()
        self._pedals.clear()
        if not playing or not playing.n:
            return []
        flags = {*playing.flags, *([flag] if flag else []), *(["still_held"] if held and not flag else [])}
        wall_ns = self._wall[1] + playing.start_ns - self._wall[0] if self._wall else 0
        return [
            Span(
                playing.start, playing.end, playing.start_ns, playing.end_ns, wall_ns, playing.n,
                tuple(sorted(flags)), tuple(playing.lost_ns), tuple(playing.played),
            )
        ]  # fmt: skip

    @property
    def _quiet(self) -> bool:
        return not self._down and not self._pedals

    def _heard(self, record: Record, message: bytes) -> None:
        kind, channel = message[0] & 0xF0, message[0] & 0x0F
        was_quiet = self._quiet
        if channel == _DRUMS or kind == 0xF0:
            return
        if kind == 0x90 and message[2]:
            playing = self._begin(record)
            playing.n += 1
            self._struck_ns, self._last_pitch = record.time_ns, message[1]
            self._down.add((channel, message[1]))
        elif kind in (0x80, 0x90):
            self._down.discard((channel, message[1]))
        elif kind == 0xB0:
            self._controller(record, channel, message[1], message[2])
        if self._quiet and not was_quiet:
            self._quiet_ns = record.time_ns

    def _controller(self, record: Record, channel: int, controller: int, value: int) -> None:
        if controller == _SUSTAIN and value >= PEDAL_DOWN:
            self._begin(record)
            self._pedals.add(channel)
        elif controller == _SUSTAIN:
            self._pedals.discard(channel)
        elif controller in (120, 123, 124, 125, 126, 127):
            self._down = {key for key in self._down if key[0] != channel}

    def _begin(self, record: Record) -> _Open:
        if self._open is None:
            self._open = _Open(record.start, record.time_ns)
        return self._open

    def _marked(self, record: Record) -> list[Span]:
        """What the listening itself had to say: a piano that vanished, a crash, an orderly end."""
        word = record.mark
        ended = self.advance(record.time_ns)
        if word in ("lost", "start"):
            # the keys that were down can send no key-up any more, or it fell into the gap: they hold nothing back
            if not self._quiet:
                self._down.clear()
                self._pedals.clear()
                self._quiet_ns = record.time_ns if word == "lost" else self._last_ns
            if self._open and word == "lost":
                self._open.flags.add("cut")
                self._open.lost_ns.append(record.time_ns)
                self._open.end = record.end
        ended += self.advance(record.time_ns)
        if self._open and word == "start":
            self._open.flags.add("gap")
        if word in ("close", "paused"):
            ended += self.finish("" if self._quiet else "stopped")
        if word == "slept" and self._quiet:
            ended += self.finish()
        self._last_ns = max(self._last_ns, record.time_ns) if word != "start" else record.time_ns
        return ended


def cut(
    records: Iterable[Record],
    silence_s: float | Callable[[int], float] = SILENCE_S,
    held_limit_s: float = HELD_LIMIT_S,
) -> list[Span]:
    """Every playing in ``records``, the last one too, even if it had not come to rest."""
    cutter = Cutter(silence_s, held_limit_s)
    spans = [span for record in records for span in cutter.feed(record)]
    return spans + cutter.finish()


def begins_ns(span: Span) -> int:
    """When a take of this playing begins to count, by the machine's clock: a pedal long before it does not matter."""
    first_key_ns = next((t for t, raw in span.played if raw[0] & 0xF0 == 0x90), span.start_ns)
    return max(span.start_ns, first_key_ns - round(_LEAD_S * 1e9))


def messages_of(span: Span) -> Iterator[Message]:
    """The raw messages of a playing, seconds from its first event.

    Where the piano vanished its keys are closed by one "all notes off" a channel in use, since no key-up can come.
    """
    start_ns = begins_ns(span)
    channels = sorted({raw[0] & 0x0F for _, raw in span.played if 0x80 <= raw[0] < 0xF0})
    events = list(span.played)
    for lost_ns in span.lost_ns:
        events += [(lost_ns, bytes((0xB0 | channel, 123, 0))) for channel in channels]
    events.sort(key=lambda event: event[0])
    for time_ns, raw in events:
        yield max(time_ns - start_ns, 0) * 1e-9, raw
