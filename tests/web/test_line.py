"""The line while it is played: told only where it was asked for, whole, and over by itself."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from typing import Any

import httpx
import pytest

from fixtures.serving import served
from keysense.capture.journal import JournalWriter
from keysense.capture.state import ListeningState
from keysense.studio.studio import Studio
from keysense.web.app import create_app
from keysense.web.line import LiveLine


def until(what: Callable[[], object]) -> None:
    end = time.monotonic() + 20
    while not what():
        assert time.monotonic() < end, "it did not come"
        time.sleep(0.005)


@pytest.fixture
def journal(studio: Studio) -> Iterator[JournalWriter]:
    ListeningState(studio.folder.journal).switch(True)
    writer = JournalWriter(studio.folder.journal)
    writer.mark("start")
    yield writer
    writer.close()


@pytest.fixture
def told() -> list[dict[str, Any]]:
    return []


@pytest.fixture
def line(studio: Studio, journal: JournalWriter, told: list[dict[str, Any]]) -> Iterator[LiveLine]:
    made = LiveLine(studio, told.append)
    yield made
    made.switch(False)


def keys(told: list[dict[str, Any]]) -> list[list[float]]:
    return [key[1:] for event in told if event["kind"] == "drawn" for key in event["keys"]]


def strike(journal: JournalWriter, pitch: int, velocity: int = 70) -> None:
    journal.message(bytes((0x90, pitch, velocity)), time.perf_counter_ns(), 0)


def test_nothing_is_told_until_it_is_switched_on(
    journal: JournalWriter, line: LiveLine, told: list[dict[str, Any]]
) -> None:
    strike(journal, 60)
    time.sleep(0.1)
    assert told == [] and not line.is_on
    line.switch(True)
    strike(journal, 62)
    until(lambda: keys(told))
    assert keys(told) == [[62, 70]], "what was played before is not drawn"


def test_every_key_is_told_once_and_in_order_however_fast(
    journal: JournalWriter, line: LiveLine, told: list[dict[str, Any]]
) -> None:
    line.switch(True)
    sent = [[40 + i % 50, 1 + i % 127] for i in range(500)]
    for pitch, velocity in sent:
        strike(journal, pitch, velocity)
        journal.message(bytes((0x80, pitch, 64)), time.perf_counter_ns(), 0)
    until(lambda: len(keys(told)) >= len(sent))
    assert keys(told) == sent


def test_the_end_of_the_line_goes_on_while_a_key_is_down_and_stops_when_all_are_up(
    journal: JournalWriter, line: LiveLine, told: list[dict[str, Any]]
) -> None:
    line.switch(True)
    strike(journal, 60)
    until(lambda: sum(event.get("down") == 1 for event in told) > 5)
    journal.message(bytes((0x90, 60, 0)), time.perf_counter_ns(), 0)
    until(lambda: told[-1].get("down") == 0)


def test_the_rhythm_machine_and_what_is_no_key_are_left_out(
    journal: JournalWriter, line: LiveLine, told: list[dict[str, Any]]
) -> None:
    line.switch(True)
    for raw in (b"\x99\x24\x60", b"\xb0\x40\x7f", b"\xc0\x05", b"\x90\x3c\x00"):
        journal.message(raw, time.perf_counter_ns(), 0)
    strike(journal, 61)
    until(lambda: keys(told))
    assert keys(told) == [[61, 70]]


@pytest.mark.parametrize("how", ["listening", "pupil", "press"])
def test_it_goes_off_by_itself_when_the_lesson_ends(
    studio: Studio, line: LiveLine, told: list[dict[str, Any]], how: str
) -> None:
    first, second = (studio.add_pupil(name, agreed_by="mother", on="2026-09-01").id for name in ("Pip", "Odile"))
    studio.set_context(pupil=first)
    line.switch(True)
    if how == "listening":
        ListeningState(studio.folder.journal).switch(False)
    elif how == "pupil":
        studio.set_context(pupil=second)
    else:
        line.switch(False)
    until(lambda: not line.is_on)
    until(lambda: told[-1] == {"kind": "line_off"})


def test_the_press_stands_behind_the_fold_and_needs_the_piano(studio: Studio) -> None:
    studio.add_pupil("Pip", agreed_by="mother", on="2026-09-01")
    state = ListeningState(studio.folder.journal)
    with served(create_app(studio)) as address, httpx.Client(base_url=address, follow_redirects=True) as client:
        text = client.get("/").text
        assert text.index("draw the line in this lesson") > text.index('id="teacher"')
        assert '" hidden><div class="name">while it is played' in text
        answer = client.post("/line", data={"on": "yes"})
        assert answer.status_code == 200 and "start listening first" in answer.text
        state.switch(True)
        text = client.post("/line", data={"on": "yes"}).text
        assert "no line any more" in text and '" hidden><div class="name">while it is played' not in text
        assert "draw the line in this lesson" in client.post("/line", data={"on": "no"}).text
