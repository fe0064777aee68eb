"""From the keys to the open page: what is played on a real MIDI system is told to the browser without a reload."""

from __future__ import annotations

import json
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest
from websockets.sync.client import connect

from keysense.capture.state import ListeningState
from keysense.studio import Studio
from tests.jack.server import Jack, wait_for
from tests.jack.stage import Piano

pytestmark = [pytest.mark.jack, pytest.mark.xdist_group("jack")]


@pytest.mark.timeout(120)
def test_an_open_page_is_told_of_a_take_and_shows_it(tmp_path: Path) -> None:
    folder = tmp_path / "studio"
    Studio.open(folder).close()
    state = ListeningState(folder / "journal")
    state.switch(True)
    sent = [
        event
        for i in range(20)
        for event in ((i * 0.1, bytes((0x90, 60 + i % 5, 50 + i))), (i * 0.1 + 0.08, bytes((0x80, 60 + i % 5, 64))))
    ]
    with Jack(sync=True) as jack, Piano(jack, sent) as piano, (tmp_path / "serve.out").open("w+") as out:
        command = [sys.executable, "-m", "keysense", "serve", "--no-browser", "--studio", str(folder)]
        command += ["--port", str(free_port())]
        with started(command, jack, out.fileno()) as serve:
            try:
                wait_for(lambda: "http://" in (tmp_path / "serve.out").read_text())
                found = re.search(r"http://([\d.]+:\d+)", (tmp_path / "serve.out").read_text())
                assert found
                wait_for(lambda: state.now().listening)
                with connect(f"ws://{found[1]}/live", origin=f"http://{found[1]}") as page:
                    piano.play()
                    end = time.monotonic() + 30
                    told = {}
                    while "take" not in told:
                        told = json.loads(page.recv(timeout=max(end - time.monotonic(), 0.1)))
                with urllib.request.urlopen(f"http://{found[1]}/") as answer:
                    assert told["take"][:8] in answer.read().decode()
            finally:
                serve.send_signal(signal.SIGINT)
                serve.wait(20)
    with Studio.open(folder) as studio:
        assert studio.take(told["take"]).n == 20


def free_port() -> int:
    with socket.socket() as door:
        door.bind(("127.0.0.1", 0))
        return int(door.getsockname()[1])


def started(command: list[str], jack: Jack, out: int) -> subprocess.Popen[bytes]:
    return subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=out, stderr=out, env=jack.env)
