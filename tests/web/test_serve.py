"""Serving: a busy port is one plain line, and a lesson's events reach the pages."""

from __future__ import annotations

import json
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import httpx
import pytest
from websockets.sync.client import ClientConnection, connect
from websockets.typing import Origin

from fixtures.serving import served
from keysense.errors import ServeError
from keysense.notes import Take
from keysense.smf import take_to_smf
from keysense.studio.studio import Studio
from keysense.web.app import create_app
from keysense.web.serve import open_door


def test_a_port_in_use_is_one_line_with_a_way_out() -> None:
    door = open_door("127.0.0.1", 0)
    door.listen()
    port = door.getsockname()[1]
    try:
        with pytest.raises(ServeError, match=f"port {port} .*keysense serve --port") as raised:
            open_door("127.0.0.1", port)
        assert "\n" not in str(raised.value)
    finally:
        door.close()


@pytest.mark.parametrize("end", [signal.SIGINT, signal.SIGTERM])
def test_ctrl_c_with_a_page_open_is_an_ordinary_end(tmp_path: Path, end: signal.Signals) -> None:
    with open_door("127.0.0.1", 0) as free:
        port = str(free.getsockname()[1])
    program = "import sys; from keysense.cli import main; main(sys.argv[1:])"
    told = [sys.executable, "-u", "-c", program, "serve", "--studio", str(tmp_path / "s"), "--port", port]
    told += ["--no-browser", "--no-listen"]
    serving = subprocess.Popen(told, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=tmp_path)
    try:
        assert serving.stdout and f":{port}/" in serving.stdout.readline()  # from here on the port is its own
        with first_page(f"http://127.0.0.1:{port}"):
            serving.send_signal(end)
            told_last = serving.communicate(timeout=20)[1]
    finally:
        serving.kill()
    assert (serving.returncode, told_last) == (0, "")


def first_page(address: str) -> ClientConnection:
    """The open line of a page to a server that is just starting."""
    until = time.monotonic() + 30
    while True:
        try:
            return connect(address.replace("http", "ws") + "/live", origin=Origin(address), proxy=None)
        except ConnectionRefusedError:
            if time.monotonic() > until:
                raise
            time.sleep(0.1)


class Scripted:
    """A lesson that tells what it is given to tell, then waits to be stopped."""

    def __init__(self) -> None:
        self.begin, self.ended = threading.Event(), threading.Event()
        self.stopped = False
        self.events: list[dict[str, Any]] = []

    def run(self, on_event: Callable[[dict[str, Any]], None]) -> None:
        self.begin.wait(10)
        for event in self.events:
            on_event(event)
        self.ended.wait(10)

    def stop(self) -> None:
        self.stopped = True
        self.begin.set()
        self.ended.set()


@pytest.fixture
def empty(tmp_path: Path) -> Any:
    with Studio.open(tmp_path / "studio") as studio:
        yield studio


def test_what_the_lesson_tells_reaches_an_open_page_and_no_more(empty: Studio) -> None:
    lesson = Scripted()
    lesson.events = [{"kind": "key", "pitch": 60, "velocity": 50}, {"kind": "take", "take": "abcd", "n": 7}]
    with served(create_app(empty, lesson)) as address:
        live = address.replace("http", "ws") + "/live"
        with connect(live, origin=address, proxy=None) as page:
            lesson.begin.set()
            heard = [json.loads(page.recv(10)) for _ in range(2)]
    assert heard == [{"kind": "key"}, {"kind": "take", "take": "abcd"}]
    assert lesson.stopped


def test_what_came_between_a_page_and_its_connection_is_told_as_missed(empty: Studio) -> None:
    lesson = Scripted()
    lesson.events = [{"kind": "key", "pitch": 60, "velocity": 50}, {"kind": "take", "take": "abcd", "n": 7}]
    with served(create_app(empty, lesson)) as address:
        before, after = told_path(address), ""
        with connect(address.replace("http", "ws") + before, origin=address, proxy=None) as page:
            lesson.begin.set()
            assert [json.loads(page.recv(10))["kind"] for _ in range(2)] == ["key", "take"], "nothing was missed"
        after = told_path(address)
        assert after != before
        with connect(address.replace("http", "ws") + before, origin=address, proxy=None) as late:
            assert json.loads(late.recv(10)) == {"kind": "missed"}
        with (
            connect(address.replace("http", "ws") + after, origin=address, proxy=None) as page,
            pytest.raises(TimeoutError),
        ):
            page.recv(0.5)


def told_path(address: str) -> str:
    """Where a page that is asked for now will connect to."""
    found = re.search(r'data-live="([^"]+)"', httpx.get(address).text)
    assert found
    return found[1]


def test_a_lesson_that_cannot_begin_is_told_on_the_page_and_ends_nothing(empty: Studio) -> None:
    class Broken(Scripted):
        def run(self, on_event: Callable[[dict[str, Any]], None]) -> None:
            raise OSError("no MIDI system answers")

    with (
        served(create_app(empty, Broken())) as address,
        httpx.Client(base_url=address, follow_redirects=True) as client,
    ):
        client.post("/listening", data={"on": "yes"})
        said = client.get("/").text
    assert "This computer finds no piano." in said and "MIDI system" not in said


def test_a_take_that_another_keysense_keeps_reaches_an_open_page(empty: Studio) -> None:
    with served(create_app(empty)) as address:
        live = address.replace("http", "ws") + "/live"
        with connect(live, origin=address, proxy=None) as page, Studio.open(empty.folder.root) as other:
            take = Take.from_notes(onset_s=[0, 1], release_s=[0.5, 1.5], pitch=[60, 62], velocity=[60, 60])
            wait = threading.Event()
            wait.wait(1.5)  # the pages have seen the studio as it was
            take_id = other.add_take(take, take_to_smf(take), started_utc=other.now())
            assert json.loads(page.recv(20)) == {"kind": "take", "take": take_id}
