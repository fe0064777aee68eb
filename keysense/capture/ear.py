"""What the listener does while it runs: look for the piano, write down what it sends, notice when it goes."""

from __future__ import annotations

import os
import sys
import time
from collections import Counter
from contextlib import suppress
from typing import NoReturn

from keysense.capture.journal import JournalWriter
from keysense.capture.port import Inlet, Watch, choose, midi_system, plain_name
from keysense.capture.state import ListeningState, Said
from keysense.errors import PortError

__all__ = ["SERVER_GONE", "Ear"]

# how the process ends when only a new one can hear again
SERVER_GONE = 7

MINUTE_S = 60.0
# no playing lasts through so long a silence, so a new day's file may begin
_ROLL_AFTER_S = 30.0
# the wall clock ran on so much further than the machine's own: it slept
_SLEPT_S = 5.0
# a port that would not open is tried again after this
_TRY_AGAIN_S = 2.0
# a JACK server that died leaves its ports listed, so while nothing is played a fresh client asks whether it lives
_PROBE_AFTER_S = 1.0
_PROBE_EVERY_S = 2.0
_REAL_TIME = {0xF8: "clock", 0xFE: "active_sensing"}


class Ear:
    """Looks for the piano, opens it, writes down what comes, and notices when it goes."""

    def __init__(self, journal: JournalWriter, state: ListeningState, pattern: str, api: str | None) -> None:
        self._journal = journal
        self._state = state
        self._pattern = pattern
        self._api = midi_system(api)
        self._said = Said(state.folder)
        self._watch: Watch | None = None
        self._inlet: Inlet | None = None
        self._deaf: Inlet | None = None
        self._piano = ""
        self._port = 0
        self._trouble = self._told = ""
        self._heard_s = time.monotonic()
        self._try_s = self._probe_s = 0.0
        self._counted: Counter[str] = Counter()
        self._minute_s = time.monotonic()
        self._offset_ns = time.time_ns() - time.perf_counter_ns()

    def begin(self, *, first: bool) -> None:
        """Find the MIDI system. The first time a missing one is a PortError; later it is waited for."""
        if not first:
            self._piano = self._state.heard_last
        while True:
            try:
                self._watch = Watch(self._api)
                return
            except PortError as cause:
                if first:
                    raise
                self._said.say(connected=False, piano=self._piano, trouble=str(cause), pianos=[])
                time.sleep(0.5)

    def look(self) -> None:
        """One round, five times a second: the switch, the piano, the minute, the state for the page."""
        try:
            names = self._names()
        except PortError as cause:
            self._gone(cause)
        if not self._state.wanted:
            self._let_go()
        elif self._inlet and self._inlet.name not in names:
            self._lose()
        elif not self._inlet:
            self._find(names)
        self._each_minute()
        self._probe()
        if self._journal.trouble != self._told:
            self._told = self._journal.trouble
            # by this way too, since on a full disk the state cannot be written
            print(f"keysense: {self._told}", file=sys.stderr, flush=True)  # noqa: T201
        self._said.say(
            connected=self._inlet is not None,
            piano=plain_name(self._inlet.name) if self._inlet else self._piano,
            trouble=self._journal.trouble or self._trouble,
            pianos=[plain_name(name) for name in names if choose([name])],
        )

    def end(self) -> None:
        """An orderly end."""
        self._let_go()
        self._write_count()
        self._journal.mark("close")
        self._said.over()

    def _names(self) -> list[str]:
        """The ports there are. One client at a time: a JACK server takes half a second to mourn each further one."""
        if self._inlet:
            return self._inlet.names()
        if self._watch is None:
            self._watch = Watch(self._api)
        if self._deaf:
            with suppress(OSError):
                self._deaf.close()
            self._deaf = None
        return self._watch.names()

    def _find(self, names: list[str]) -> None:
        # a piano that was heard in this sitting is waited for; another is not taken in its place
        remembered = self._piano or self._state.remembered
        wanted = [name for name in names if plain_name(name) == self._piano] if self._piano else names
        name = choose(wanted, self._pattern, remembered)
        if not name or time.monotonic() < self._try_s:
            return
        word = "back" if self._piano else "open"
        # before the port opens: the callback may come at once, and the mark belongs before what it brings
        self._journal.mark(word, self._port, piano=plain_name(name))
        if self._watch:
            self._watch.close()
            self._watch = None
        try:
            self._inlet = Inlet(name, self._heard, self._api)
        except PortError as cause:
            self._trouble, self._try_s = str(cause), time.monotonic() + _TRY_AGAIN_S
            return
        self._trouble, self._piano = "", plain_name(name)
        self._state.remember(self._piano)

    def _heard(self, time_ns: int, raw: bytes) -> None:
        if not raw:
            return
        if raw[0] >= 0xF8:
            self._counted[_REAL_TIME.get(raw[0], "other")] += 1
            return
        self._journal.message(raw, time_ns, self._port)
        self._heard_s = time_ns * 1e-9

    def _lose(self) -> None:
        self._journal.mark("lost", self._port, piano=self._piano)
        self._port = (self._port + 1) % 256
        # not closed before a fresh client has shown that the MIDI system itself still lives (see `_names`)
        self._inlet, self._deaf = None, self._inlet

    def _let_go(self) -> None:
        """Close the piano, of our own will."""
        if self._inlet:
            self._inlet.close()
            self._inlet = None
            self._journal.mark("paused", self._port)
        self._piano = ""

    def _each_minute(self) -> None:
        now_s = time.monotonic()
        offset_ns = time.time_ns() - time.perf_counter_ns()
        if abs(offset_ns - self._offset_ns) > _SLEPT_S * 1e9:
            self._journal.mark("slept")
            self._journal.wall()
        self._offset_ns = offset_ns
        if now_s - self._minute_s < MINUTE_S:
            return
        self._minute_s = now_s
        self._journal.wall()
        self._write_count()
        if time.perf_counter() - self._heard_s > _ROLL_AFTER_S:
            self._journal.roll()

    def _write_count(self) -> None:
        if self._counted:
            counted, self._counted = self._counted, Counter()
            self._journal.count(dict(counted))

    def _probe(self) -> None:
        """Whether the JACK server still lives; if not, this process cannot be mended and ends at once."""
        now_s = time.monotonic()
        if self._api != "jack" or not self._inlet or now_s - self._probe_s < _PROBE_EVERY_S:
            return
        if time.perf_counter() - self._heard_s < _PROBE_AFTER_S:
            return
        self._probe_s = now_s
        try:
            Watch(self._api).close()
        except PortError as cause:
            self._gone(cause)

    def _gone(self, cause: PortError) -> NoReturn:
        """The MIDI system itself went: only a new process can hear again."""
        self._journal.mark("lost", self._port, piano=self._piano)
        self._said.say(connected=False, piano=self._piano, trouble=str(cause), pianos=[])
        self._journal.close()
        os._exit(SERVER_GONE)
