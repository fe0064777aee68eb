"""From raw MIDI messages to a take: the one place where the habits of instruments are evened out.

Conventions
    A message is ``(time_s, bytes)``: the bytes as they came, one message or several, running status or none. Times
    are kept as given. Channels are counted from 0, as on the wire.

What is done, and the flag it leaves
    * note-on with velocity 0 is a note-off;
    * a second note-on of a sounding key closes the first: ``repeated_note_on``;
    * a voice layered on another channel (more than 80 % of its notes struck within 5 ms of the same pitch on a lower
      channel) is taken away, the lowest channel stays: ``layered``;
    * channel 10, the drums, is left out: ``channel_10``;
    * a key that never came up is closed at the last event: ``missing_release``;
    * at most two velocities in twelve notes or more (touch switched off, or an organ voice): ``one_velocity``;
    * pedals (controllers 64, 66, 67) keep their 0 to 127; where half way lies is the reader's question;
    * controller 88 is the fine part of the next note's velocity: the 7-bit velocity stays, the fine part is left to
      the raw file;
    * release velocities that are always 64 mean that the instrument measures none: stored as 0;
    * "all notes off" and "all sound off" (controllers 123 to 127, and 120) close the keys of their channel;
    * clock, active sensing, system exclusive, and bytes that belong to no message pass by.

References
    MIDI 1.0 Detailed Specification 4.2 (running status, note-on of velocity 0, default release velocity 64, all notes
    off); MIDI Association CA-031 (high resolution velocity prefix). Both from memory.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from keysense.notes import NOTE, PEDAL, Take, TakeMeta
from keysense.wire import Message, whole_messages

__all__ = ["PEDALS", "normalise", "normalise_tracks"]

PEDALS = (64, 66, 67)
_ALL_KEYS_UP = (120, 123, 124, 125, 126, 127)
_DRUMS = 9
_LAYER_S = 0.005
_LAYER_SHARE = 0.8
_LAYER_LOOSE_S = 0.05


@dataclass
class _Press:
    """One key press of one channel while it is being put together."""

    onset_s: float
    release_s: float
    pitch: int
    velocity: int
    release_velocity: int
    channel: int


@dataclass(frozen=True)
class _Pedal:
    time_s: float
    controller: int
    value: int
    channel: int


def normalise(messages: Iterable[Message], meta: TakeMeta | None = None) -> Take:
    """The take that raw messages make; the flags found are added to those of ``meta``.

    Raises NotesError on a time that is not finite.
    """
    return normalise_tracks([messages], meta)


def normalise_tracks(tracks: Sequence[Iterable[Message]], meta: TakeMeta | None = None) -> Take:
    """As `normalise`, for a file of several tracks: a key-up closes a key of its own track only."""
    gathered = [_Keys().gather(track) for track in tracks]
    end_s = max((keys.last_s for keys in gathered), default=0.0)
    flags: set[str] = set()
    presses: list[_Press] = []
    pedals: list[_Pedal] = []
    for keys in gathered:
        presses += keys.closed(end_s)
        pedals += keys.pedals
        flags |= keys.flags
    presses.sort(key=lambda press: press.onset_s)
    pedals.sort(key=lambda pedal: pedal.time_s)
    layers = _layers(presses)
    if layers:
        flags.add("layered")
        presses, pedals = _without_layers(presses, pedals, layers)
    notes = _note_rows(presses)
    if len(notes) >= 12 and len(np.unique(notes["velocity"])) <= 2:
        flags.add("one_velocity")
    meta = meta or TakeMeta()
    return Take(notes, _pedal_rows(pedals), replace(meta, flags=tuple(sorted({*meta.flags, *flags}))))


class _Keys:
    """The keys of one stream: which are down, which presses are finished, what the pedals did."""

    def __init__(self) -> None:
        self.pedals: list[_Pedal] = []
        self.flags: set[str] = set()
        self.last_s = -math.inf
        self._presses: list[_Press] = []
        self._down: dict[tuple[int, int], _Press] = {}
        self._release_velocities: set[int] = set()

    def gather(self, messages: Iterable[Message]) -> _Keys:
        for time_s, message in whole_messages(messages):
            kind, channel = message[0] & 0xF0, message[0] & 0x0F
            if kind == 0xF0:
                continue
            self.last_s = max(self.last_s, time_s)
            if channel == _DRUMS:
                if kind == 0x90 and message[2]:
                    self.flags.add("channel_10")
            elif kind == 0x90 and message[2]:
                self._key_down(time_s, channel, message[1], message[2])
            elif kind in (0x80, 0x90):
                self._key_up(time_s, channel, message[1], message[2] if kind == 0x80 else None)
            elif kind == 0xB0:
                self._controller(time_s, channel, message[1], message[2])
        return self

    def closed(self, end_s: float) -> list[_Press]:
        """Every press; those still down end at ``end_s``."""
        for press in self._down.values():
            self.flags.add("missing_release")
            press.release_s = max(end_s, press.onset_s)
        if self._release_velocities == {64}:
            for press in self._presses:
                press.release_velocity = 0
        return self._presses

    def _key_down(self, time_s: float, channel: int, pitch: int, velocity: int) -> None:
        sounding = self._down.pop((channel, pitch), None)
        if sounding:
            sounding.release_s = max(time_s, sounding.onset_s)
            self.flags.add("repeated_note_on")
        press = _Press(time_s, time_s, pitch, velocity, 0, channel)
        self._presses.append(press)
        self._down[channel, pitch] = press

    def _key_up(self, time_s: float, channel: int, pitch: int, velocity: int | None) -> None:
        press = self._down.pop((channel, pitch), None)
        if press is None:
            return
        press.release_s = max(time_s, press.onset_s)
        if velocity is not None:
            press.release_velocity = velocity
            self._release_velocities.add(velocity)

    def _controller(self, time_s: float, channel: int, controller: int, value: int) -> None:
        if controller in PEDALS:
            self.pedals.append(_Pedal(time_s, controller, value, channel))
        elif controller in _ALL_KEYS_UP:
            for key in [key for key in self._down if key[0] == channel]:
                self._key_up(time_s, channel, key[1], None)


def _layers(presses: Sequence[_Press]) -> set[int]:
    """Channels of which more than 80 % of the notes double a lower channel within 5 ms."""
    struck: dict[tuple[int, int], list[float]] = defaultdict(list)
    totals: Counter[int] = Counter()
    for press in presses:
        struck[press.channel, press.pitch].append(press.onset_s)
        totals[press.channel] += 1
    layers: set[int] = set()
    for upper in sorted(totals):
        below = [channel for channel in totals if channel < upper and channel not in layers]
        doubled = sum(_doubled(press, below, struck, _LAYER_S) for press in presses if press.channel == upper)
        if doubled > _LAYER_SHARE * totals[upper]:
            layers.add(upper)
    return layers


def _doubled(
    press: _Press, channels: Iterable[int], struck: dict[tuple[int, int], list[float]], within_s: float
) -> bool:
    """Whether the pitch is struck on one of ``channels`` at nearly the same time."""
    for channel in channels:
        onsets = struck.get((channel, press.pitch), [])
        # the microsecond lets 5 ms sharp count as within 5 ms whatever the float's last digit
        first = bisect_left(onsets, press.onset_s - within_s - 1e-6)
        if first < len(onsets) and onsets[first] <= press.onset_s + within_s + 1e-6:
            return True
    return False


def _without_layers(
    presses: Sequence[_Press], pedals: Sequence[_Pedal], layers: set[int]
) -> tuple[list[_Press], list[_Pedal]]:
    """The presses and pedals without the layered voices; a press that doubles nothing is never lost."""
    struck: dict[tuple[int, int], list[float]] = defaultdict(list)
    for press in presses:
        if press.channel not in layers:
            struck[press.channel, press.pitch].append(press.onset_s)
    kept = {channel for channel, _ in struck}
    stay = [p for p in presses if p.channel not in layers or not _doubled(p, kept, struck, _LAYER_LOOSE_S)]
    heard = {pedal.controller for pedal in pedals if pedal.channel not in layers}
    return stay, [p for p in pedals if p.channel not in layers or p.controller not in heard]


def _note_rows(presses: Sequence[_Press]) -> npt.NDArray[np.void]:
    rows = [(p.onset_s, p.release_s, p.pitch, p.velocity, p.release_velocity, p.channel) for p in presses]
    return np.array(rows, NOTE)


def _pedal_rows(pedals: Sequence[_Pedal]) -> npt.NDArray[np.void]:
    return np.array([(p.time_s, p.controller, p.value) for p in pedals], PEDAL)
