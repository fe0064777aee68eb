"""The way to the piano, with a stand-in for the MIDI system: no test here needs hardware."""

from __future__ import annotations

import sys
import types
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from keysense.capture import port
from keysense.capture.port import Inlet, choose, list_pianos, open_port, plain_name, play_out
from keysense.errors import PortError


class Client:
    """A client of the stand-in: counts what is asked of it."""

    names: tuple[str, ...] = ()
    clients: list[Client] = []  # noqa: RUF012 - reset by the fixture
    refuse_open = False

    def __init__(self, rtapi: int, name: str) -> None:
        self.api, self.name = rtapi, name
        self.done: list[tuple[Any, ...]] = []
        self.callback: Callable[..., None] | None = None
        Client.clients.append(self)

    def get_ports(self) -> list[str]:
        return list(Client.names)

    def set_callback(self, callback: Callable[..., None]) -> None:
        self.callback = callback
        self.done.append(("callback",))

    def __getattr__(self, what: str) -> Callable[..., None]:
        def noted(*given: Any, **named: Any) -> None:
            self.done.append((what, *given))
            if what == "open_port" and Client.refuse_open:
                raise OSError("in use")

        return noted


@pytest.fixture
def rtmidi(monkeypatch: pytest.MonkeyPatch) -> Iterator[types.ModuleType]:
    module = types.ModuleType("rtmidi")
    module.MidiIn = module.MidiOut = Client  # type: ignore[attr-defined]
    for number, name in enumerate(["API_UNSPECIFIED", *port.APIS.values()]):
        setattr(module, name, number)
    monkeypatch.setitem(sys.modules, "rtmidi", module)
    monkeypatch.setenv("KEYSENSE_MIDI", "jack")
    Client.names, Client.clients, Client.refuse_open = (), [], False
    yield module
    Client.names, Client.clients, Client.refuse_open = (), [], False


STUDY = "Study Piano:Study Piano MIDI 1 20:0"
HALL = "Hall Piano:Hall Piano MIDI 1 24:0"
THROUGH = "Midi Through:Midi Through Port-0 14:0"
OWN = "keysense:from the piano"


@pytest.mark.parametrize(
    ("names", "pattern", "remembered", "chosen"),
    [
        ([THROUGH, STUDY, HALL], "", "", STUDY),
        ([THROUGH, OWN], "", "", ""),
        ([], "", "", ""),
        ([STUDY, HALL], "", "Hall Piano:Hall Piano MIDI 1", HALL),
        ([STUDY], "", "Hall Piano:Hall Piano MIDI 1", STUDY),
        ([STUDY, HALL], "hall", "", HALL),
        ([STUDY, HALL], "HALL", "Study Piano:Study Piano MIDI 1", HALL),
        ([STUDY, HALL], "h*midi*", "", HALL),
        ([STUDY, HALL], "church", "", ""),
        ([THROUGH, STUDY], "through", "", THROUGH),
        (["Digital [A]", "Digital [B]"], "[b]", "", "Digital [B]"),
        (["Piano 2", "Piano"], "piano", "", "Piano"),
    ],
)
def test_which_port_is_meant(names: list[str], pattern: str, remembered: str, chosen: str) -> None:
    assert choose(names, pattern, remembered) == chosen


def test_the_numbers_of_a_plugging_are_no_part_of_a_name() -> None:
    assert plain_name(STUDY) == plain_name(STUDY.replace("20:0", "28:0")) == "Study Piano:Study Piano MIDI 1"


def test_pianos_are_listed_without_the_ports_of_the_system(rtmidi: types.ModuleType) -> None:
    Client.names = (THROUGH, STUDY, OWN)
    assert list_pianos() == ["Study Piano:Study Piano MIDI 1"]


def test_a_port_is_opened_fresh_with_nothing_ignored_and_the_callback_first(rtmidi: types.ModuleType) -> None:
    Client.names = (THROUGH, STUDY)
    heard: list[tuple[int, bytes]] = []
    inlet = open_port("study", lambda time_ns, raw: heard.append((time_ns, raw)))
    client = Client.clients[-1]
    assert client.done == [("ignore_types", False, False, False), ("callback",), ("open_port", 1)]
    assert client.callback
    client.callback(([0x90, 60, 64], 0.25), None)
    assert heard[0][1] == b"\x90\x3c\x40"
    inlet.close()
    open_port("study", lambda *_: None)
    assert Client.clients[-1] is not client


def test_a_missing_piano_is_one_line_that_names_the_others(rtmidi: types.ModuleType) -> None:
    Client.names = (THROUGH, STUDY)
    with pytest.raises(PortError, match="no piano is called 'hall' \\(there: Study Piano:Study Piano MIDI 1\\)"):
        open_port("hall", lambda *_: None)
    with pytest.raises(PortError, match="no longer there"):
        Inlet(HALL, lambda *_: None)


def test_a_piano_in_use_is_one_line(rtmidi: types.ModuleType) -> None:
    Client.names, Client.refuse_open = (STUDY,), True
    with pytest.raises(PortError, match="close other programs"):
        open_port("study", lambda *_: None)


def test_no_midi_system_is_one_line(rtmidi: types.ModuleType) -> None:
    def refuse(**_: object) -> None:
        raise OSError("no server")

    rtmidi.MidiIn = refuse  # type: ignore[attr-defined]
    with pytest.raises(PortError, match="no MIDI system answers \\(jack\\): start the JACK server"):
        list_pianos()


def test_an_unknown_midi_system_is_one_line(rtmidi: types.ModuleType) -> None:
    with pytest.raises(PortError, match="write one of alsa, core, jack, windows"):
        list_pianos("telegraph")


def test_without_rtmidi_it_is_said_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "rtmidi", None)
    with pytest.raises(PortError, match=r"pip install 'keysense\[listen\]'"):
        list_pianos()


def test_playing_out_lifts_every_key_at_the_end(rtmidi: types.ModuleType) -> None:
    Client.names = (STUDY,)
    messages = [(0.0, b"\x90\x3c\x40"), (0.0, b"\x91\x3e\x40"), (0.001, b"\x80\x3c\x40"), (0.002, b"\x90\x40\x40")]
    sent = play_out(messages, pattern="study")
    told = [given for what, given in (entry for entry in Client.clients[-1].done if entry[0] == "send_message")]
    assert [bytes(raw) for raw in told[:4]] == [raw for _, raw in messages]
    assert [bytes(raw) for raw in told[4:]] == [b"\x80\x40\x40", b"\x81\x3e\x40"]
    assert len(sent) == 4
    assert sent == sorted(sent)
    assert Client.clients[-1].done[-2:] == [("close_port",), ("delete",)]


def test_playing_out_can_be_stopped(rtmidi: types.ModuleType) -> None:
    assert play_out([(0.0, b"\x90\x3c\x40")], as_piano="Demo", stop=lambda: True) == []


def test_playing_to_no_piano_is_one_line(rtmidi: types.ModuleType) -> None:
    with pytest.raises(PortError, match="no piano to play to"):
        play_out([], pattern="study")
