"""The lesson page over a real MIDI system: a piano is plugged in, played, pulled out and put back."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from fixtures.serving import served
from keysense.capture.state import ListeningState
from keysense.listening import Lesson
from keysense.studio.studio import Studio
from keysense.web.app import create_app
from tests.jack.server import Jack
from tests.jack.stage import PIANO, Piano

pytestmark = [pytest.mark.browser, pytest.mark.jack, pytest.mark.xdist_group("jack"), pytest.mark.timeout(120)]

TUNE = [
    event
    for i, pitch in enumerate((67, 64, 65, 62, 64, 62, 60, 60))
    for event in ((i * 0.2, bytes((0x90, pitch, 60 + i))), (i * 0.2 + 0.17, bytes((0x80, pitch, 64))))
]


@pytest.fixture
def jack(monkeypatch: pytest.MonkeyPatch) -> Iterator[Jack]:
    with Jack(sync=True) as server:  # nothing is late for it, however busy the machine
        for name in ("JACK_DEFAULT_SERVER", "JACK_NO_START_SERVER", "KEYSENSE_MIDI"):
            monkeypatch.setenv(name, server.env[name])
        yield server


@pytest.fixture
def live(jack: Jack, tmp_path: Path, browser: Browser) -> Iterator[Page]:
    """The lesson page of a studio that listens to this MIDI system."""
    with Studio.open(tmp_path / "studio") as studio:
        studio.add_pupil("Pip", agreed_by="mother", on=studio.today())
        ListeningState(studio.folder.journal).switch(True)
        with served(create_app(studio, Lesson(studio, silence_s=1.0, api="jack"))) as address:
            page = browser.new_page()
            page.goto(address)
            yield page
            page.close()


def test_a_take_played_on_the_piano_appears_by_itself(jack: Jack, live: Page) -> None:
    said = live.locator("#state strong")
    with Piano(jack, TUNE) as piano:
        expect(said).to_have_text("Listening.", timeout=20_000)
        expect(live.locator("#state")).to_contain_text(PIANO)
        live.evaluate("window.stayed = true")
        piano.play()
        piano.played()
        expect(live.locator("#takes li")).to_have_count(1, timeout=20_000)
        assert live.evaluate("window.stayed") is True
        expect(live.locator("#takes li svg[role=img]")).to_be_visible()
    expect(said).to_contain_text("has gone", timeout=20_000)
    assert live.evaluate("document.body.dataset.state") == "cut"
    with Piano(jack):
        expect(said).to_have_text("Listening.", timeout=20_000)
        live.get_by_role("button", name="stop listening").click()
        expect(said).to_have_text("Not listening.", timeout=20_000)
        expect(live.get_by_role("button", name="start listening")).to_be_visible()
