"""From the key to the picture: how long until a note played stands in the line on an open page, in a real browser.

``python tests/bench/bench_line.py`` prints the figures; nothing is asserted. A second process plays through a JACK
port, `keysense serve` listens and serves, and Chromium shows the page of the lesson with the line switched on. The
picture counts as there after the frame in which the note was painted. That nothing was lost is counted in the journal.
"""

from __future__ import annotations

import re
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from playwright.sync_api import Page

sys.path.append(str(Path(__file__).resolve().parents[2]))

from fixtures.chromium import chromium
from keysense.capture.state import ListeningState
from keysense.studio import Studio
from tests.jack.server import Jack, wait_for
from tests.jack.stage import Messages, Piano, raw_of
from tests.jack.test_page import free_port, started

SECONDS = 30
# The line begins anew where it is full, so the notes are counted as they are added, and the messages as they come.
WATCH = """() => {
  window.painted = []; window.updates = [];
  const after = (act) => requestAnimationFrame(() => {
    const channel = new MessageChannel();
    channel.port1.onmessage = act;
    channel.port2.postMessage(0);
  });
  new MutationObserver((changes) => {
    const keys = changes.flatMap((change) => [...change.addedNodes]).filter((part) => part.dataset?.key);
    if (keys.length) after(() => {
      const at = performance.timeOrigin + performance.now();
      for (const key of keys) window.painted.push([Number(key.dataset.key), at]);
    });
  }).observe(document.getElementById("line-drawn"), { childList: true });
  import("/static/live.js").then((live) => live.when("drawn", () => window.updates.push(performance.now())));
}"""


def melody(a_second: float) -> Messages:
    """A tune of single notes and, every second, a chord of three: key down, and up before the next."""
    events: Messages = []
    for i in range(round(SECONDS * a_second)):
        at, pitches = i / a_second, (60 + i % 12, 52, 55) if i % round(a_second) == 0 else (60 + i % 12,)
        events += [(at, bytes((0x90, pitch, 40 + i % 60))) for pitch in pitches]
        events += [(at + 0.8 / a_second, bytes((0x80, pitch, 64))) for pitch in pitches]
    return sorted(events, key=lambda event: event[0])


def told(name: str, ms: np.ndarray) -> str:
    parts = (f"{said} {np.percentile(ms, at):6.1f}" for said, at in (("median", 50), ("p95", 95), ("p99", 99)))
    return f"  {name:34s} {'  '.join(parts)}  most {ms.max():6.1f} ms  (n {len(ms)})"


def measured(page: Page, piano: Piano, sent: Messages) -> None:
    """Play, wait until the last note is painted, and print."""
    downs = [i for i, (_, raw) in enumerate(sent) if raw[0] == 0x90]
    page.evaluate(WATCH)
    page.wait_for_timeout(300)
    piano.play()
    stamps = np.array(piano.played(), float) * 1e-6
    offset_ms = (time.time_ns() - time.perf_counter_ns()) * 1e-6
    page.wait_for_function(f"window.painted.length >= {len(downs)}", timeout=10_000)
    painted = np.array(page.evaluate("window.painted"))
    at_listener_ms, at_picture_ms = painted[:, 0] * 1000, painted[:, 1] - offset_ms
    sent_ms = stamps[downs]
    print(told("sent to written down by the listener", at_listener_ms - sent_ms))
    print(told("written down to painted", at_picture_ms - at_listener_ms))
    print(told("key to picture", at_picture_ms - sent_ms))
    gaps = np.diff(np.array(page.evaluate("window.updates")))
    playing = gaps[gaps < 500]
    print(f"  updates a second while it is played {1000 / playing.mean():6.1f}")


def one(a_second: float) -> None:
    """One playing at a pace of so many notes a second."""
    sent = melody(a_second)
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "studio"
        Studio.open(folder).close()
        ListeningState(folder / "journal").switch(True)
        out = Path(place) / "out"
        command = [sys.executable, "-m", "keysense", "serve", "--no-browser", "--studio", str(folder)]
        with Studio.open(folder) as studio:
            studio.add_pupil("Pip", agreed_by="mother", on=studio.today())
        with (
            Jack(sync=True) as jack,
            Piano(jack, sent) as piano,
            out.open("w") as said,
            started([*command, "--port", str(free_port())], jack, said.fileno()) as serve,
            chromium() as browser,
        ):
            wait_for(lambda: re.search(r"http://[\d.]+:\d+", out.read_text()))
            address = re.search(r"http://[\d.]+:\d+", out.read_text())
            wait_for(lambda: ListeningState(folder / "journal").now().listening)
            page = browser.new_page(viewport={"width": 1280, "height": 900})
            page.goto(address[0] if address else "")
            page.locator("#teacher > summary").click()
            page.get_by_role("button", name="draw the line in this lesson").click()
            measured(page, piano, sent)
            page.close()
            serve.send_signal(signal.SIGINT)
            try:
                serve.wait(20)
            except subprocess.TimeoutExpired:
                serve.kill()
        same = raw_of(folder / "journal") == [raw for _, raw in sent]
        print(f"  every message in the journal, in order: {'yes' if same else 'NO'}  ({len(sent)} messages)")


def main() -> int:
    """Print the figures for a child's pace and for a quick one."""
    for a_second in (3.0, 12.0):
        print(f"{a_second:g} notes a second for {SECONDS} s")
        one(a_second)
    return 0


if __name__ == "__main__":
    sys.exit(main())
