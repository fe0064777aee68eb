"""The line while it is played, over a real MIDI system: the page is told what was played, and nothing is lost."""

from __future__ import annotations

import json
import re
import signal
import sys
import time
import urllib.request
from pathlib import Path

import pytest
from websockets.exceptions import ConnectionClosed
from websockets.sync.client import connect

from keysense.capture.state import ListeningState
from keysense.studio import Studio
from tests.jack.server import Jack, wait_for
from tests.jack.stage import Piano, raw_of
from tests.jack.test_page import free_port, started

pytestmark = [pytest.mark.jack, pytest.mark.xdist_group("jack")]


@pytest.mark.timeout(120)
def test_the_line_is_told_key_by_key_and_the_journal_holds_everything(tmp_path: Path) -> None:
    folder = tmp_path / "studio"
    Studio.open(folder).close()
    state = ListeningState(folder / "journal")
    state.switch(True)
    pitches = [60 + i % 12 for i in range(60)]
    sent = [
        event
        for i, pitch in enumerate(pitches)
        for event in ((i * 0.05, bytes((0x90, pitch, 40 + i))), (i * 0.05 + 0.04, bytes((0x80, pitch, 64))))
    ]
    with Jack(sync=True) as jack, Piano(jack, sent) as piano, (tmp_path / "serve.out").open("w+") as out:
        command = [sys.executable, "-m", "keysense", "serve", "--no-browser", "--studio", str(folder)]
        with started([*command, "--port", str(free_port())], jack, out.fileno()) as serve:
            try:
                wait_for(lambda: "http://" in (tmp_path / "serve.out").read_text())
                found = re.search(r"http://([\d.]+:\d+)", (tmp_path / "serve.out").read_text())
                assert found
                wait_for(lambda: state.now().listening)
                with connect(f"ws://{found[1]}/live", origin=f"http://{found[1]}") as page:
                    press = urllib.request.Request(
                        f"http://{found[1]}/line", b"on=yes", {"origin": f"http://{found[1]}"}
                    )
                    urllib.request.urlopen(press).close()
                    piano.play()
                    told: list[list[float]] = []
                    end = time.monotonic() + 30
                    while len(told) < len(pitches):
                        event = json.loads(page.recv(timeout=max(end - time.monotonic(), 0.1)))
                        told += event.get("keys", [])
                    wait_for(
                        lambda: len(raw_of(folder / "journal")) >= len(sent)
                    )  # the last key comes up after it is told
                    state.switch(False)
                    while event["kind"] != "line_off":
                        event = json.loads(page.recv(timeout=20))
            except ConnectionClosed:
                pytest.fail((tmp_path / "serve.out").read_text())
            finally:
                serve.send_signal(signal.SIGINT)
                serve.wait(20)
    assert [key[1:] for key in told] == [[pitch, 40 + i] for i, pitch in enumerate(pitches)]
    assert raw_of(folder / "journal") == [raw for _, raw in sent]
