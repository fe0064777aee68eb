"""``keysense hear``: listen to the piano, say what came, keep it until it has a name."""

from __future__ import annotations

import signal
from typing import TYPE_CHECKING, Annotated, Any

import typer

from keysense.cli.glue import StudioDir, echo, open_studio
from keysense.errors import JournalError

if TYPE_CHECKING:
    from keysense.capture.state import Listener
    from keysense.listening import Lesson
    from keysense.studio import Studio

__all__ = ["hear"]

# what a teacher should know of a take besides its notes; other flags are told by the findings
_FLAGS = {
    "cut": "the piano went away while it lasted",
    "gap": "the listening broke off for a moment: notes may be missing",
    "still_held": "a key or the pedal was still down",
    "stopped": "listening was switched off while it lasted",
    "repeated_note_on": "a key sounded twice without coming up",
    "missing_release": "a key never came up",
    "one_velocity": "every note came equally loud (is its touch switched off?)",
    "layered": "two voices were on: one of them is heard",
    "channel_10": "the rhythm was on: it is left out",
}


def hear(
    piano: Annotated[
        str, typer.Option("--piano", metavar="NAME", help="Part of your piano's name, if more than one is there.")
    ] = "",
    silence: Annotated[
        float | None,
        typer.Option("--silence", metavar="SECONDS", min=0.5, max=20.0, help="So long a silence ends a take (3)."),
    ] = None,
    takes: Annotated[int, typer.Option("--takes", metavar="N", min=0, help="Stop by itself after N takes.")] = 0,
    show: Annotated[bool, typer.Option("--list", help="Only show which pianos are there.")] = False,
    midi: Annotated[
        str, typer.Option("--midi", metavar="SYSTEM", help="alsa, jack, core or windows; chosen by itself.")
    ] = "",
    studio: StudioDir = None,
) -> None:
    """Listen to your piano. There is nothing to press: just play, and each take is cut at the silence after it.

    Every take waits for a name: keysense name pip cat sleepy. What you do not name is wiped within 24 hours. Your piano
    is found by itself and remembered. Stop with Ctrl and C.
    """
    if show:
        _list(midi or None)
        return
    from keysense.listening import Lesson

    with open_studio() as opened:
        lesson = Lesson(opened, piano=piano or None, silence_s=silence, api=midi or None, listen=True)
        before = {number: signal.signal(number, lambda *_: lesson.stop()) for number in (signal.SIGINT, signal.SIGTERM)}
        try:
            voice = _Voice(opened, lesson, takes)
            lesson.run(voice.say)
        finally:
            for number, handler in before.items():
                signal.signal(number, handler)
        if voice.trouble:
            raise JournalError(voice.trouble)


class _Voice:
    """What the terminal says while the lesson runs."""

    def __init__(self, studio: Studio, lesson: Lesson, takes: int) -> None:
        self.trouble = ""
        self._studio = studio
        self._lesson = lesson
        self._left = takes
        self._was = (False, "")
        self._restarts = 0
        self._begun = False

    def say(self, event: dict[str, Any]) -> None:
        getattr(self, "_" + event["kind"])(event)

    def _piano(self, event: dict[str, Any]) -> None:
        state: Listener = event["state"]
        if state.trouble and state.trouble != self.trouble:
            echo(f"keysense: {state.trouble}", err=True)
        self.trouble = state.trouble
        if event["restarts"] > self._restarts:
            self._restarts = event["restarts"]
            echo("The listening broke off and began again.")
        if self._begun and (state.connected, state.piano) == self._was:
            return
        if state.connected:
            back = self._begun and self._was[1] == state.piano
            echo(f"{state.piano} is back. Listening." if back else f"Listening to {state.piano}. Just play.")
        elif self._was[0]:
            echo(f"{self._was[1]} is gone. Not listening; look at its cable and switch.")
        elif not self._begun:
            echo("Not listening yet: no piano is there. Plug it in and switch it on.")
        self._begun, self._was = True, (state.connected, state.piano)

    def _recovered(self, event: dict[str, Any]) -> None:
        echo(f"The last listening ended without warning. From its journal: {self._told(event)}.")

    def _take(self, event: dict[str, Any]) -> None:
        known = [_FLAGS[flag] for flag in event["flags"] if flag in _FLAGS]
        echo("; ".join([self._told(event), *known]) + ".")

    def _looked(self, event: dict[str, Any]) -> None:
        from keysense.cli.naming import told

        take = self._studio.take(event["take"])
        name = told(self._studio, take)
        if take.piece_id is None and take.pupil_id is None:
            name += f". To keep it: keysense name {take.id[:8]} and who played what"
        echo(f"  {name}.")
        self._left -= 1
        if not self._left:
            self._lesson.stop()

    def _trouble(self, event: dict[str, Any]) -> None:
        echo(f"keysense: {event['line']}", err=True)

    def _key(self, event: dict[str, Any]) -> None:
        """Nothing is said while a child plays."""

    def _told(self, event: dict[str, Any]) -> str:
        notes = "1 note" if event["n"] == 1 else f"{event['n']} notes"
        return f"take {event['take'][:8]}, {notes}, {event['duration_s']:.0f} s".capitalize()


def _list(api: str | None) -> None:
    from keysense.capture.port import list_pianos

    pianos = list_pianos(api)
    for piano in pianos:
        echo(piano)
    if not pianos:
        echo("No piano is there. Plug it in and switch it on.")
