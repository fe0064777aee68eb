"""Listening, Not listening: what is wanted and what is so."""

from __future__ import annotations

import json
import os
import time
from pathlib import Path

import pytest

from keysense.capture.lock import LOCK, hold
from keysense.capture.state import Listener, ListeningState, Said
from keysense.errors import AlreadyListening, CaptureError, JournalError


def test_nothing_listens_until_it_is_switched_on(tmp_path: Path) -> None:
    state = ListeningState(tmp_path / "journal")
    assert state.now() == Listener()
    assert not state.wanted
    state.switch(True)
    assert ListeningState(tmp_path / "journal").wanted
    assert not state.now().listening, "wanted is not yet so"
    state.switch(False)
    assert not state.wanted


def test_the_switch_and_the_piano_do_not_disturb_each_other(tmp_path: Path) -> None:
    state = ListeningState(tmp_path)
    state.switch(True)
    state.remember("Study Piano")
    state.switch(False)
    assert (state.wanted, state.remembered) == (False, "Study Piano")


def test_what_the_listener_says_is_shown(tmp_path: Path) -> None:
    state, said = ListeningState(tmp_path), Said(tmp_path)
    state.switch(True)
    said.say(connected=True, piano="Study Piano", trouble="", pianos=["Study Piano"])
    now = state.now()
    assert now.listening
    assert (now.piano, now.pianos, now.pid) == ("Study Piano", ("Study Piano",), os.getpid())
    said.say(connected=False, piano="Study Piano", trouble="a line", pianos=[])
    assert not state.now().listening
    assert state.now().trouble == "a line"
    said.over()
    assert not state.now().running


def test_a_listener_that_died_is_not_taken_for_one_that_listens(tmp_path: Path) -> None:
    state = ListeningState(tmp_path)
    state.switch(True)
    Said(tmp_path).say(connected=True, piano="Study Piano", trouble="", pianos=["Study Piano"])
    long_ago = time.time() - 60
    os.utime(tmp_path / "listener.json", (long_ago, long_ago))
    now = state.now()
    assert not now.listening
    assert not now.running
    assert now.pianos == ()


@pytest.mark.parametrize("torn", ["", "{", "[]", "null", "\x00\x00"])
def test_a_torn_state_file_is_no_state(torn: str, tmp_path: Path) -> None:
    for name in ("switch.json", "listener.json"):
        (tmp_path / name).write_text(torn)
    assert not ListeningState(tmp_path).now().listening
    ListeningState(tmp_path).switch(True)
    assert json.loads((tmp_path / "switch.json").read_text())["listen"] is True


def test_a_switch_that_cannot_be_written_is_one_line(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(CaptureError) as told:
        ListeningState(tmp_path / "file" / "journal").switch(True)
    assert "\n" not in str(told.value)


def test_one_listener_a_studio(tmp_path: Path) -> None:
    lock = hold(tmp_path / "journal" / LOCK)
    with pytest.raises(AlreadyListening, match="already listening"):
        hold(tmp_path / "journal" / LOCK, wait_s=0)
    lock.release()
    hold(tmp_path / "journal" / LOCK, wait_s=0).release()


def test_a_lock_that_cannot_be_taken_is_one_line(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(JournalError) as told:
        hold(tmp_path / "file" / LOCK)
    assert "\n" not in str(told.value)


def test_on_a_full_disk_the_listener_still_shows_that_it_lives(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    state, said = ListeningState(tmp_path), Said(tmp_path)
    state.switch(True)
    said.say(connected=True, piano="Study Piano", trouble="", pianos=[])

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("keysense.capture.state.write_small", full)
    long_ago = time.time() - 60
    os.utime(tmp_path / "listener.json", (long_ago, long_ago))
    said._touched_s -= 1
    said.say(connected=True, piano="Study Piano", trouble="the disk is full", pianos=[])
    assert state.now().listening
