"""A lesson: from the keys to waiting takes in the studio, while the pupil plays. Used by ``keysense hear`` and the web.

`Lesson` starts the listener, follows its journal, cuts the takes and keeps them; `recover` takes up what a crash left
open; `sweep` wipes what belongs to no kept take before a day has passed.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from keysense.capture.cutting import SILENCE_S
from keysense.capture.keeping import SWEEP_S, Recovered, keep, recover, sweep
from keysense.capture.records import Kind, Record
from keysense.capture.rests import patient_silence
from keysense.capture.state import Listener, ListeningState
from keysense.capture.supervisor import Supervisor
from keysense.capture.tailing import Playing, Tail
from keysense.errors import KeysenseError

if TYPE_CHECKING:
    from keysense.studio import Studio

__all__ = ["Event", "Lesson", "Recovered", "recover", "sweep"]

# kind: piano | take | looked | recovered | key | trouble, and what belongs to it
Event = dict[str, Any]

_POLL_S = 0.05
_WRITTEN_NS = 20_000_000
_STATE_S = 0.25
_CONTEXT_S = 1.0


class Lesson:
    """Listens to the piano for one studio until `stop` is called.

    piano: part of the piano's name; else the settings' ``port``, else the one heard last. silence_s: seconds of
    silence that end a take; else the settings'. api: the MIDI system, chosen where None. listen: True switches
    listening on until the end of the lesson, False off, None leaves it as it was left. look: look at each take as it
    comes.
    """

    def __init__(
        self,
        studio: Studio,
        *,
        piano: str | None = None,
        silence_s: float | None = None,
        api: str | None = None,
        listen: bool | None = None,
        look: bool = True,
    ) -> None:
        self.studio = studio
        self.state = ListeningState(studio.folder.journal)
        self.playing = False
        self._silence_s = silence_s or studio.settings.silence_s or SILENCE_S
        self._patience: Callable[[int], float] = lambda _: self._silence_s
        self._piano, self._api = piano or studio.settings.port, api
        self._supervisor = Supervisor(studio.folder.journal, self._piano, api)
        self._listen = listen
        self._look = look
        self._stop = threading.Event()
        self._shown: Listener | None = None
        self._context: object = None
        self._next_s = dict.fromkeys(("state", "context", "sweep"), 0.0)
        self._log = logging.getLogger("keysense.listening")

    def switch(self, on: bool) -> None:
        """Listening, or Not listening: one press."""
        self.state.switch(on)

    def now(self) -> Listener:
        """What is so at this moment, with what the listener last complained of."""
        return replace(self.state.now(), trouble=self.state.now().trouble or self._supervisor.trouble)

    def stop(self) -> None:
        """End the lesson: `run` finishes what is open, keeps it, and returns."""
        self._stop.set()

    def run(self, on_event: Callable[[Event], None] = lambda event: None) -> None:
        """Listen until `stop`; ``on_event`` is called from this thread for all that happens.

        Raises AlreadyListening, PortError (no MIDI system) or JournalError (folder, disk) when listening cannot begin
        or cannot go on, StudioError when a take cannot be kept; it is then recovered at the next start. A lesson that
        such a fault ended may be run again.
        """
        self._supervisor = Supervisor(self.studio.folder.journal, self._piano, self._api)
        self._shown, self.playing = None, False
        for found in recover(self.studio, self._silence_s):
            on_event({"kind": "recovered", "take": found.take_id, "n": found.n, "duration_s": found.duration_s})
        tail = Tail(self.studio.folder.journal, lambda pitch: self._patience(pitch))
        tail.catch_up()
        if self._listen is not None:
            self.state.switch(self._listen)
        try:
            self._supervisor.start()
            while not self._stop.is_set():
                self._round(tail, on_event)
                self._stop.wait(_POLL_S)
        finally:
            self._supervisor.stop()
            if self._listen:
                self.state.switch(False)
        self._keep([*tail.read(), *tail.finish()], on_event)
        tail.done()

    def _round(self, tail: Tail, on_event: Callable[[Event], None]) -> None:
        self._now_and_then(on_event)
        # a moment before reading: what came up to it has been written and read by the time it is compared
        now_ns = time.perf_counter_ns() - _WRITTEN_NS
        ended = list(tail.read(lambda record: _tell_key(record, on_event)))
        self._keep([*ended, *tail.advance(now_ns)], on_event)
        self.playing = not tail.idle
        tail.done()
        if self._supervisor.failed:
            raise self._supervisor.failed

    def _now_and_then(self, on_event: Callable[[Event], None]) -> None:
        if self._due("state", _STATE_S):
            shown = self.now()
            if shown != self._shown:
                self._shown = shown
                on_event({"kind": "piano", "state": shown, "restarts": self._supervisor.restarts})
        if self._due("context", _CONTEXT_S):
            context = self.studio.context
            if context != self._context:
                self._context = context
                self._patience = self._patience_for(context.piece_id)
        if not self.playing and self._due("sweep", SWEEP_S):
            sweep(self.studio)

    def _due(self, what: str, every_s: float) -> bool:
        if time.monotonic() < self._next_s[what]:
            return False
        self._next_s[what] = time.monotonic() + every_s
        return True

    def _patience_for(self, piece_id: str | None) -> Callable[[int], float]:
        """Never cut inside a written rest of the piece that is being worked on."""
        target = None
        if piece_id is not None:
            try:
                target = self.studio.target_of(piece_id).target
            except KeysenseError:
                target = None  # a piece without music yet has no written rests
        return patient_silence(target, self._silence_s)

    def _keep(self, playings: Iterable[Playing], on_event: Callable[[Event], None]) -> None:
        for playing in playings:
            take_id = keep(self.studio, playing)
            take = self.studio.take(take_id)
            on_event({"kind": "take", "take": take_id, "n": take.n, "duration_s": take.duration_s, "flags": take.flags})
            if self._look:
                self._look_at(take_id, on_event)

    def _look_at(self, take_id: str, on_event: Callable[[Event], None]) -> None:
        """What was heard in it; a fault in the looking must not end the listening."""
        from keysense.studio.looking import heard

        reading = None
        try:
            reading = heard(self.studio, take_id)
        except KeysenseError as cause:
            on_event({"kind": "trouble", "line": str(cause)})
        except Exception as cause:
            self._log.exception("take %s could not be looked at", take_id[:8])
            on_event({"kind": "trouble", "line": f"take {take_id[:8]} is kept but could not be looked at ({cause})"})
        on_event({"kind": "looked", "take": take_id, "reading": reading})


def _tell_key(record: Record, on_event: Callable[[Event], None]) -> None:
    """A key went down: for pages that follow while it is played."""
    raw = record.payload
    if record.kind is Kind.MESSAGE and len(raw) == 3 and raw[0] & 0xF0 == 0x90 and raw[2]:
        on_event({"kind": "key", "time_s": record.time_ns * 1e-9, "pitch": raw[1], "velocity": raw[2]})
