"""What the listener does when the piano comes, goes, or is switched off, with a stand-in for the MIDI system."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from keysense.capture import ear as ear_module
from keysense.capture.ear import SERVER_GONE, Ear
from keysense.capture.journal import JournalWriter, journals, read_journal
from keysense.capture.records import Kind
from keysense.capture.state import ListeningState
from keysense.errors import PortError

STUDY, HALL = "Study Piano", "Hall Piano"


class System:
    """The stand-in: which pianos are there, and who listens to them."""

    def __init__(self) -> None:
        self.pianos: list[str] = []
        self.alive = True
        self.in_use = False
        self.inlets: list[Inlet] = []
        self.watches = 0

    def send(self, raw: bytes, time_ns: int = 1) -> None:
        for inlet in self.inlets:
            if inlet.open and inlet.name in self.pianos:
                inlet.heard(time_ns, raw)


class Inlet:
    def __init__(self, name: str, heard: Callable[[int, bytes], None], api: str | None) -> None:
        if SYSTEM[0].in_use:
            raise PortError("the piano is in use")
        self.name, self.heard, self.open = name, heard, True
        SYSTEM[0].inlets.append(self)

    def names(self) -> list[str]:
        return SYSTEM[0].pianos

    def close(self) -> None:
        assert SYSTEM[0].alive, "closing a port of a dead server ends the process"
        self.open = False


class Watch:
    def __init__(self, api: str | None) -> None:
        if not SYSTEM[0].alive:
            raise PortError("no MIDI system answers")
        SYSTEM[0].watches += 1

    def names(self) -> list[str]:
        return SYSTEM[0].pianos

    def close(self) -> None:
        SYSTEM[0].watches -= 1


SYSTEM: list[System] = []


@pytest.fixture
def system(monkeypatch: pytest.MonkeyPatch) -> Iterator[System]:
    SYSTEM[:] = [System()]
    monkeypatch.setattr(ear_module, "Inlet", Inlet)
    monkeypatch.setattr(ear_module, "Watch", Watch)
    yield SYSTEM[0]
    SYSTEM.clear()


class Room:
    """An ear, its journal and its state in a folder."""

    def __init__(self, folder: Path, pattern: str = "", *, again: bool = False) -> None:
        self.folder = folder
        self.state = ListeningState(folder)
        if not again:
            self.state.switch(True)
        self.journal = JournalWriter(folder)
        self.ear = Ear(self.journal, self.state, pattern, "jack")
        self.ear.begin(first=not again)

    def look(self, times: int = 1) -> None:
        for _ in range(times):
            self.ear.look()

    def told(self) -> list[str]:
        """Marks, and the pitch of each note."""
        records = read_journal(journals(self.folder)[0]).records
        return [r.mark or str(r.payload[1]) for r in records if r.kind in (Kind.MARK, Kind.MESSAGE)]


@pytest.fixture
def room(system: System, tmp_path: Path) -> Iterator[Room]:
    room = Room(tmp_path)
    yield room
    room.journal.close()


def test_a_piano_is_found_heard_and_remembered(system: System, room: Room) -> None:
    room.look()
    assert not room.state.now().connected
    system.pianos = [STUDY]
    room.look()
    system.send(b"\x90\x3c\x40")
    assert room.told() == ["open", "60"]
    assert room.state.now().listening
    assert room.state.remembered == STUDY


def test_a_piano_that_goes_is_marked_and_taken_up_again_by_a_fresh_port(system: System, room: Room) -> None:
    system.pianos = [STUDY]
    room.look()
    system.pianos = []
    room.look()
    assert room.told() == ["open", "lost"]
    assert room.state.now().piano == STUDY
    assert not room.state.now().connected
    system.pianos = [STUDY]
    room.look()
    system.send(b"\x90\x3e\x40")
    assert room.told() == ["open", "lost", "back", "62"]
    assert [inlet.open for inlet in system.inlets] == [False, True]


def test_while_a_piano_is_missed_another_is_not_taken_in_its_place(system: System, room: Room) -> None:
    system.pianos = [STUDY, HALL]
    room.look()
    system.pianos = [HALL]
    room.look(3)
    assert room.told() == ["open", "lost"]


def test_a_new_sitting_takes_another_piano_if_the_remembered_one_is_not_there(system: System, room: Room) -> None:
    room.state.remember(STUDY)
    system.pianos = [HALL]
    room.look()
    assert room.state.now().piano == HALL


def test_not_listening_closes_the_port(system: System, room: Room) -> None:
    system.pianos = [STUDY]
    room.look()
    room.state.switch(False)
    room.look()
    system.send(b"\x90\x3c\x40")
    assert room.told() == ["open", "paused"]
    assert not system.inlets[0].open
    room.state.switch(True)
    room.look()
    assert room.told() == ["open", "paused", "open"]


def test_only_one_client_of_the_midi_system_is_left_open(system: System, room: Room) -> None:
    for there in ([STUDY], [], [STUDY], [], [STUDY]):
        system.pianos = list(there)
        room.look(2)
        assert system.watches + sum(inlet.open for inlet in system.inlets) == 1


def test_clock_and_active_sensing_are_counted_not_kept(system: System, room: Room) -> None:
    system.pianos = [STUDY]
    room.look()
    for raw in (b"\xf8", b"\xf8", b"\xfe", b"\xff", b"", b"\xf0\x41\xf7", b"\xc0\x05"):
        system.send(raw)
    assert room.told() == ["open", "65", "5"]
    room.ear._minute_s -= 61
    room.look()
    counts = [r.said() for r in read_journal(journals(room.folder)[0]).records if r.kind is Kind.COUNT]
    assert counts == [{"clock": 2, "active_sensing": 1, "other": 1}]


def test_a_piano_in_use_is_told_and_tried_again(system: System, room: Room) -> None:
    system.pianos, system.in_use = [STUDY], True
    room.look(5)
    assert room.state.now().trouble == "the piano is in use"
    assert room.told() == ["open"], "not tried at every round"
    system.in_use = False
    room.ear._try_s = 0
    room.look()
    assert room.state.now().listening
    assert room.state.now().trouble == ""


def test_a_dead_midi_system_ends_the_process_after_a_mark(
    system: System, room: Room, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Ended(BaseException):
        pass

    def end(code: int) -> None:
        raise Ended(code)

    monkeypatch.setattr(ear_module.os, "_exit", end)
    system.pianos = [STUDY]
    room.look()
    system.alive = False  # its ports stay listed
    room.ear._heard_s -= 10
    room.ear._probe_s = -10
    with pytest.raises(Ended) as ended:
        room.look()
    assert ended.value.args == (SERVER_GONE,)
    assert room.told() == ["open", "lost"]
    assert system.inlets[0].open, "a port of a dead server is not closed"


def test_a_listener_started_again_waits_for_the_piano_it_heard(system: System, tmp_path: Path) -> None:
    first = Room(tmp_path)
    system.pianos = [STUDY]
    first.look()
    first.journal.close()
    system.pianos = [HALL]
    again = Room(tmp_path, again=True)
    again.look()
    assert not again.state.now().connected
    system.pianos = [HALL, STUDY]
    again.look()
    assert again.told() == ["open", "back"]
    again.journal.close()


def test_without_a_midi_system_it_does_not_begin(system: System, tmp_path: Path) -> None:
    system.alive = False
    with pytest.raises(PortError):
        Room(tmp_path)
