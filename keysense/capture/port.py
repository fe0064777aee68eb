"""The way to the piano: the only place that knows rtmidi. It opens, stamps and sends, and nothing else.

Conventions
    A piano is known by the name of its MIDI port, without the numbers that the system hangs on and changes at each
    plugging. ``api`` is one of `APIS`, else taken from the environment's ``KEYSENSE_MIDI``, else chosen.
"""

from __future__ import annotations

import os
import re
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from fnmatch import fnmatchcase
from pathlib import Path
from typing import Any

from keysense.errors import PortError

__all__ = [
    "APIS",
    "HOW_TO_INSTALL",
    "Inlet",
    "Watch",
    "choose",
    "list_pianos",
    "list_ports",
    "midi_system",
    "open_port",
    "plain_name",
    "play_out",
]

APIS = {
    "alsa": "API_LINUX_ALSA",
    "core": "API_MACOSX_CORE",
    "jack": "API_UNIX_JACK",
    "windows": "API_WINDOWS_MM",
}
ENVIRONMENT = "KEYSENSE_MIDI"
OURS = "keysense"
# ports that every system has and that no piano is behind
_NO_PIANO = ("midi through", "rtmidi", OURS)
HOW_TO_INSTALL = (
    "listening needs python-rtmidi, which is not installed: pip install 'keysense[listen]' (Python 3.12 has it ready "
    "made; elsewhere it is built, on Debian after apt-get install libasound2-dev libjack-jackd2-dev)"
)

Callback = Callable[[int, bytes], None]


class Watch:
    """Looks which pianos are there, without opening one. Raises PortError where no MIDI system answers."""

    def __init__(self, api: str | None = None) -> None:
        self._client = _client("MidiIn", "keysense-watch", api)

    def names(self) -> list[str]:
        """The names of all ports that could send."""
        return [str(name) for name in self._client.get_ports()]

    def close(self) -> None:
        """Let the MIDI system forget this client."""
        self._client.delete()


class Inlet:
    """An open port. ``heard(time_ns, bytes)`` is called for each message, in the thread of the MIDI system.

    The time is `time.perf_counter_ns`, taken before anything else. Raises PortError where the port cannot be opened.
    """

    def __init__(self, name: str, heard: Callback, api: str | None = None) -> None:
        self.name = name
        now = time.perf_counter_ns

        def called(event: tuple[Sequence[int], float], _: object) -> None:
            time_ns = now()
            heard(time_ns, bytes(event[0]))

        # always a fresh client, and in this order: one that is opened again after its piano went is silently deaf
        self._client = _client("MidiIn", OURS, api)
        self._client.ignore_types(False, False, False)
        self._client.set_callback(called)
        ports = list(self._client.get_ports())
        if name not in ports:
            raise PortError(f"{name} is no longer there: plug the piano in and switch it on")
        try:
            self._client.open_port(ports.index(name), name="from the piano")
        except (OSError, ValueError, TypeError) as cause:
            raise PortError(
                f"{plain_name(name)} cannot be opened: close other programs that use the piano ({cause})"
            ) from cause

    def names(self) -> list[str]:
        """The names of all ports that could send, as `Watch.names`."""
        return [str(name) for name in self._client.get_ports()]

    def close(self) -> None:
        """Stop hearing. Not to be called while a JACK server that died may be behind it: that ends the process."""
        self._client.cancel_callback()
        self._client.delete()


def list_ports(api: str | None = None) -> list[str]:
    """The names of all ports that could send, the system's own among them. Raises PortError as `Watch` does."""
    return Watch(api).names()


def list_pianos(api: str | None = None) -> list[str]:
    """The names a teacher would know: ports behind which a piano may stand, without the system's numbers."""
    return [plain_name(name) for name in list_ports(api) if _may_be_piano(name)]


def open_port(pattern: str, heard: Callback, api: str | None = None) -> Inlet:
    """Open the first port that ``pattern`` means. Raises PortError, naming the ports there are, if it means none."""
    names = list_ports(api)
    name = choose(names, pattern)
    if not name:
        there = ", ".join(plain_name(n) for n in names if _may_be_piano(n)) or "none"
        raise PortError(f"no piano is called {pattern or 'anything'!r} (there: {there}): plug it in and switch it on")
    return Inlet(name, heard, api)


def choose(names: Sequence[str], pattern: str = "", remembered: str = "") -> str:
    """The port to listen to, or nothing: by pattern, else the remembered piano, else the first that may be one.

    A pattern is a part of the name, whatever the case, or holds ``*`` and ``?``.
    """
    if pattern:
        wanted = pattern.casefold()
        loose = wanted if any(sign in wanted for sign in "*?") else f"*{_literal(wanted)}*"
        same = [name for name in names if plain_name(name).casefold() == plain_name(wanted)]
        return next(iter([*same, *(name for name in names if fnmatchcase(name.casefold(), loose))]), "")
    pianos = [name for name in names if _may_be_piano(name)]
    return next((name for name in pianos if plain_name(name) == remembered), pianos[0] if pianos else "")


def plain_name(name: str) -> str:
    """The name of a port without the numbers that change at each plugging ("Piano:Piano MIDI 1 20:0")."""
    return re.sub(r"\s+\d+:\d+$", "", name) if sys.platform != "win32" else re.sub(r"\s+\d+$", "", name)


def play_out(
    messages: Iterable[tuple[float, bytes]],
    *,
    pattern: str = "",
    as_piano: str = "",
    api: str | None = None,
    ready: Callable[[], object] | None = None,
    stop: Callable[[], bool] | None = None,
    done: Callable[[list[int]], object] | None = None,
) -> list[int]:
    """Play raw messages at their times (s); the `time.perf_counter_ns` at which each was sent.

    To the piano that ``pattern`` means, or, with ``as_piano``, as a piano of that name that others can listen to.
    ``ready`` is called once the port is there and waited for; ``stop`` ends the playing early; ``done`` is called
    with what is returned, and waited for, before the port closes. Keys still down at the end come up. Raises
    PortError where there is no such piano.
    """
    client = _client("MidiOut", as_piano or OURS, api)
    if as_piano:
        client.open_virtual_port("keys")
    else:
        names = [str(name) for name in client.get_ports()]
        name = choose(names, pattern)
        if not name:
            raise PortError(f"no piano to play to is called {pattern or 'anything'!r}: plug it in and switch it on")
        client.open_port(names.index(name), name="to the piano")
    if ready:
        ready()
    try:
        sent = _send(client, messages, stop)
        if done:
            done(sent)
        return sent
    finally:
        client.close_port()
        client.delete()  # or the MIDI system waits for a client that will not answer again


def _send(client: Any, messages: Iterable[tuple[float, bytes]], stop: Callable[[], bool] | None) -> list[int]:
    sent: list[int] = []
    down: set[tuple[int, int]] = set()
    begun_ns = time.perf_counter_ns()
    for time_s, raw in messages:
        wait_s = time_s - (time.perf_counter_ns() - begun_ns) * 1e-9
        if wait_s > 0:
            time.sleep(wait_s)
        if stop and stop():
            break
        sent.append(time.perf_counter_ns())
        client.send_message(list(raw))
        if raw[0] & 0xE0 == 0x80:
            key = (raw[0] & 0x0F, raw[1])
            (down.add if raw[0] & 0x10 and raw[2] else down.discard)(key)
    for channel, pitch in sorted(down):
        client.send_message([0x80 | channel, pitch, 64])
    return sent


def _may_be_piano(name: str) -> bool:
    return not name.casefold().startswith(_NO_PIANO)


def _literal(text: str) -> str:
    return text.replace("[", "[[]")


def _client(kind: str, name: str, api: str | None) -> Any:
    """A client of the MIDI system; PortError in plain words where there is none."""
    try:
        import rtmidi
    except ImportError as cause:
        raise PortError(HOW_TO_INSTALL) from cause
    chosen = midi_system(api)
    try:
        return getattr(rtmidi, kind)(
            rtapi=getattr(rtmidi, APIS[chosen]) if chosen else rtmidi.API_UNSPECIFIED, name=name
        )
    except OSError as cause:  # rtmidi.SystemError is one
        remedy = "start the JACK server" if chosen == "jack" else "look whether this computer has MIDI switched on"
        raise PortError(f"no MIDI system answers ({chosen or 'the usual one'}): {remedy}") from cause


def midi_system(api: str | None = None) -> str:
    """The one of `APIS` to use; empty for the machine's usual one. Raises PortError on a name that is none."""
    named = (api or os.environ.get(ENVIRONMENT, "")).casefold()
    if named and named not in APIS:
        raise PortError(f"there is no MIDI system {named!r}: write one of {', '.join(APIS)}, or leave it out")
    if named or not sys.platform.startswith("linux"):
        return named
    # without the kernel's sequencer ALSA answers with noise on the terminal; then only JACK can be there
    return "alsa" if Path("/dev/snd/seq").exists() else "jack"
