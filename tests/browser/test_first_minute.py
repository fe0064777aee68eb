"""The first minute in a browser: the piano answers at once, the demo studio is watched, entered and removed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from fixtures.serving import served
from keysense.demo import telling
from keysense.studio.studio import Studio
from keysense.web.app import create_app
from tests.browser.everywhere import assert_clean_everywhere

pytestmark = pytest.mark.browser


class Piano:
    """A lesson that says what the test says."""

    def __init__(self) -> None:
        import threading

        self._end, self._began = threading.Event(), threading.Event()

    def run(self, on_event) -> None:  # type: ignore[no-untyped-def]
        self.tell = on_event
        self._began.set()
        self._end.wait()

    def stop(self) -> None:
        self._end.set()

    def press(self) -> None:
        assert self._began.wait(5)
        self.tell({"kind": "key", "time_s": 0.0, "pitch": 60, "velocity": 60})


@pytest.fixture
def piano() -> Piano:
    return Piano()


@pytest.fixture
def page(browser: Browser, tmp_path: Path, piano: Piano) -> Iterator[Page]:
    """An empty studio's page."""
    with Studio.open(tmp_path / "studio") as studio, served(create_app(studio, piano)) as address:
        page = browser.new_page(viewport={"width": 820, "height": 900})
        wrong: list[str] = []
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("console", lambda said: wrong.append(said.text) if said.type == "error" else None)
        page.goto(address)
        yield page
        page.close()
        assert not wrong


def test_the_first_note_is_answered_on_the_page_and_stays_answered(page: Page, piano: Piano) -> None:
    page.wait_for_load_state("networkidle")
    expect(page.locator("#first-note")).not_to_have_class("done")
    expect(page.locator("#first-plug").get_by_role("button", name="start listening")).to_be_visible()
    with page.expect_response("**/first/note"):
        piano.press()
        expect(page.locator("#first-note.done")).to_contain_text("I heard it.")
    page.reload()
    expect(page.locator("#first-note.done")).to_contain_text("done")
    page.get_by_role("button", name="not now: Plug the piano in.").click()
    expect(page.locator("#first-plug.skipped")).to_contain_text("left out for now")


def test_the_demo_studio_is_watched_entered_and_removed(page: Page, monkeypatch: pytest.MonkeyPatch) -> None:
    def tell(studio: Studio, say) -> None:  # type: ignore[no-untyped-def]
        studio.remember("demo", {"alone": True})
        studio.add_pupil("Odile", agreed_by="father", on="2026-09-01")
        for number in range(12):
            say(f"\nOdile plays tune {number + 1}.\n    typed: odile tune")

    monkeypatch.setattr(telling, "tell", tell)
    page.get_by_role("button", name="Open the demo studio").click()
    page.get_by_role("button", name="Go in").click()
    band = page.get_by_role("complementary", name="the demo studio")
    expect(band).to_contain_text("made up")
    expect(page.locator("#main")).to_be_visible()  # the head of a page is there before the rest of it
    assert_clean_everywhere(page)
    band.get_by_role("button", name="Remove the demo studio").click()
    expect(page.get_by_text("Yours is as it was.")).to_be_visible()
    expect(page.get_by_role("heading", name="Welcome.")).to_be_visible()
