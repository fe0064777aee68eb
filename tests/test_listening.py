"""A lesson from the journal to the studio, the listener's process replaced by a hand that writes the journal."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from keysense import listening
from keysense.capture.journal import JournalWriter
from keysense.capture.state import ListeningState, Said
from keysense.errors import JournalError, KeysenseError
from keysense.listening import Lesson
from keysense.studio import Studio
from keysense.targets.target import Target


class Hand:
    """In place of the supervisor: writes what a listener would, when the test says so."""

    last: Hand

    def __init__(self, folder: Path, piano: str, api: str | None) -> None:
        self.folder, self.piano, self.api = folder, piano, api
        self.restarts, self.trouble = 0, ""
        self.failed: KeysenseError | None = None
        Hand.last = self

    def start(self) -> None:
        self.journal = JournalWriter(self.folder)
        self.journal.wall()
        self.journal.mark("start")
        self.journal.mark("open", piano="Study Piano")
        self.said = Said(self.folder)
        self.said.say(connected=True, piano="Study Piano", trouble="", pianos=["Study Piano"])

    def stop(self) -> None:
        self.journal.mark("close")
        self.journal.close()
        self.said.over()

    def play(self, *pitches: int, velocity: int = 60, step_s: float = 0.01) -> None:
        now = time.perf_counter_ns() - round(len(pitches) * step_s * 1e9)
        for i, pitch in enumerate(pitches):
            at = now + round(i * step_s * 1e9)
            self.journal.message(bytes((0x90, pitch, velocity + i)), at)
            self.journal.message(bytes((0x80, pitch, 30)), at + round(0.8 * step_s * 1e9))


class Room:
    """A lesson in a thread, and all it said."""

    def __init__(self, studio: Studio, **options: Any) -> None:
        self.events: list[dict[str, Any]] = []
        self.lesson = Lesson(studio, silence_s=0.5, **options)
        self.fault: BaseException | None = None
        self.thread = threading.Thread(target=self._run)
        self.thread.start()
        self.wait(lambda: self.of("piano") or self.fault)

    def _run(self) -> None:
        try:
            self.lesson.run(self.events.append)
        except KeysenseError as fault:
            self.fault = fault

    def of(self, kind: str) -> list[dict[str, Any]]:
        return [event for event in list(self.events) if event["kind"] == kind]

    def wait(self, what: Callable[[], object]) -> None:
        end = time.monotonic() + 20
        while not what():
            assert time.monotonic() < end, self.events
            time.sleep(0.01)

    def end(self) -> None:
        self.lesson.stop()
        self.thread.join(20)


@pytest.fixture
def studio(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Studio]:
    monkeypatch.setattr(listening, "Supervisor", Hand)
    with Studio.open(tmp_path / "studio") as opened:
        yield opened


def test_a_take_is_cut_kept_and_told(studio: Studio) -> None:
    room = Room(studio, listen=True)
    assert room.of("piano")[-1]["state"].listening
    Hand.last.play(60, 62, 64)
    room.wait(lambda: room.of("looked"))
    room.end()
    kinds = [event["kind"] for event in room.events if event["kind"] != "piano"]
    assert kinds == ["key", "key", "key", "take", "looked"]
    assert [event["pitch"] for event in room.of("key")] == [60, 62, 64]
    (take,) = studio.takes()
    assert room.of("take")[0]["take"] == take.id
    assert (take.n, take.instrument, take.state) == (3, "Study Piano", "waiting")
    assert studio.take_notes(take.id).notes["velocity"].tolist() == [60, 61, 62]
    assert not ListeningState(studio.folder.journal).wanted, "switched on for the lesson, and off with it"


def test_the_end_of_a_lesson_ends_what_is_being_played(studio: Studio) -> None:
    room = Room(studio)
    Hand.last.play(60, 62)
    room.wait(lambda: len(room.of("key")) == 2)
    room.end()
    assert [take.n for take in studio.takes()] == [2]
    assert room.fault is None


def test_the_same_studio_goes_on_without_a_second_take(studio: Studio) -> None:
    for n in (1, 2):
        room = Room(studio)
        Hand.last.play(60, 62)
        room.wait(lambda room=room: room.of("take"))
        room.end()
        assert len(studio.takes()) == n
        assert room.of("recovered") == []


def test_the_switch_is_left_as_it_was_where_nothing_is_said(studio: Studio) -> None:
    ListeningState(studio.folder.journal).switch(True)
    room = Room(studio)
    room.end()
    assert ListeningState(studio.folder.journal).wanted
    room.lesson.switch(False)
    assert not ListeningState(studio.folder.journal).wanted


def test_a_listener_that_failed_for_good_ends_the_lesson(studio: Studio) -> None:
    room = Room(studio)
    Hand.last.failed = JournalError("the disk is full")
    room.thread.join(20)
    assert isinstance(room.fault, JournalError)


def test_what_the_listener_complains_of_is_told(studio: Studio) -> None:
    room = Room(studio)
    Hand.last.trouble = "the disk is full"
    room.wait(lambda: room.of("piano")[-1]["state"].trouble == "the disk is full")
    room.end()


def test_a_fault_in_the_looking_does_not_end_the_listening(studio: Studio, monkeypatch: pytest.MonkeyPatch) -> None:
    import keysense.studio.looking

    def break_down(*_: object) -> None:
        raise ZeroDivisionError("nothing to divide")

    monkeypatch.setattr(keysense.studio.looking, "heard", break_down)
    room = Room(studio)
    for n in (1, 2):
        Hand.last.play(60, 62)
        room.wait(lambda n=n: len(room.of("looked")) == n)
    room.end()
    assert len(studio.takes()) == 2
    assert "nothing to divide" in room.of("trouble")[0]["line"]


def test_settings_are_the_default_and_options_come_first(studio: Studio) -> None:
    studio.set_setting("port", "hall")
    Lesson(studio)
    assert Hand.last.piano == "hall"
    Lesson(studio, piano="study", api="jack")
    assert (Hand.last.piano, Hand.last.api) == ("study", "jack")


def test_the_written_rests_of_the_piece_worked_on_are_waited_out(studio: Studio) -> None:
    piece = studio.add_piece("Wait For It")
    music = Target.from_notes(
        onset_quarter=[0, 1, 6], duration_quarter=[1, 1, 1], pitch=[60, 62, 64], tempo_qpm=240
    )  # 4 quarters of rest after the second note: 1 s as written, 2 s for a slow player, and a second to spare
    studio.add_target(piece.id, music)
    studio.set_context(piece=piece.id)
    room = Room(studio)
    Hand.last.play(60, 62)
    room.wait(lambda: (not room.lesson.playing and len(room.of("key")) == 2) or room.lesson.playing)
    time.sleep(1.2)
    assert room.of("take") == [], "half a second of silence would have ended any other take"
    Hand.last.play(64)
    room.wait(lambda: room.of("take"))
    room.end()
    assert [take.n for take in studio.takes()] == [3]
