"""A whole lesson in a real browser, the keys played through a real MIDI system: empty studio to signed note."""

from __future__ import annotations

import signal
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from fixtures.chromium import LIMIT_MS
from fixtures.studio_for_pages import PROUD, SCORES, SLEEPY
from keysense.capture.journal import read_journal
from keysense.capture.state import ListeningState
from keysense.demo.performer import perform
from keysense.studio import Studio
from keysense.targets import read_target
from tests.jack.server import Jack, wait_for
from tests.jack.stage import Messages, Piano
from tests.jack.test_page import free_port, started

pytestmark = [pytest.mark.jack, pytest.mark.browser, pytest.mark.xdist_group("jack")]

SCORE = SCORES / "millers_cat.musicxml"


@pytest.mark.timeout(300)
def test_from_an_empty_studio_to_a_signed_note(browser: Browser, tmp_path: Path) -> None:
    cat = read_target(SCORE)
    sleepy, proud = played(perform(cat, SLEEPY, 5)), played(perform(cat, PROUD, 7))
    with (
        Jack(sync=True) as jack,
        served(jack, tmp_path) as (address, studio),
        opened(browser, address) as (page, wrong),
    ):
        state = page.locator("#state")
        with Piano(jack, sleepy) as piano:
            first_minute(page)
            expect(state).to_contain_text("is ready.")
            piano.play()
            piano.played()
            expect(cards(page)).to_have_count(1)
            assert page.evaluate("window.stayed") is True, "the take came by itself"
            named(page, "pip cat slepy", "sleepy")
        expect(state).to_contain_text("has gone.")
        with Piano(jack, proud) as piano:
            expect(state).to_contain_text("is ready.")
            piano.play()
            piano.played()
            expect(cards(page)).to_have_count(2)
        expect(state).to_contain_text("has gone.")
        dropped_and_brought_back(page)
        named(page, "pip cat proud", "proud")
        two_compared_after_a_guess(page)
        note_signed(page, address)
        assert not wrong
        with Studio.open(studio) as kept:
            takes = kept.takes(state="kept")
            assert sorted(take.character for take in takes) == ["proud", "sleepy"]
            assert {take.n for take in takes} == {sum(raw[0] == 0x90 and raw[2] > 0 for _, raw in sleepy)}


def played(raws: Messages) -> list[tuple[float, bytes]]:
    """A playing twice as brisk: the test waits for every second of it."""
    return [(at / 2, raw) for at, raw in raws]


def first_minute(page: Page) -> None:
    """The empty studio guides: the piano is found, a pupil with an agreement, the page of a piece."""
    expect(page.locator("#first-plug.done")).to_be_visible()
    page.get_by_label("A nickname is enough.").fill("Pip")
    page.get_by_label("Who has agreed, a parent or guardian").fill("mother")
    page.get_by_label("Read to, and agreed by, this person today").check()
    page.get_by_role("button", name="add to the register").click()
    page.get_by_text("bring the page of a piece").click()
    page.locator("#bring").set_input_files(SCORE)
    page.get_by_role("button", name="bring it").click()
    expect(page.locator("#first-tune.done")).to_be_visible()
    expect(page.get_by_role("button", name="bring it")).to_be_hidden()
    page.evaluate("window.stayed = true")


def cards(page: Page) -> Any:
    return page.locator("#takes li")


def named(page: Page, line: str, character: str) -> None:
    """Name the newest take by the free line; where a misspelt word is asked about, yes."""
    newest = cards(page).first
    if newest.get_by_text("another name").count():  # a carried name held
        newest.get_by_text("another name").click()
    newest.locator(".naming input").first.fill(line)
    newest.locator(".naming input").first.press("Enter")
    yes, done = page.get_by_role("button", name="yes", exact=True), newest.get_by_role("heading", name=character)
    expect(done.or_(yes).first).to_be_visible()
    if yes.count():
        yes.click()
    expect(done).to_be_visible()


def dropped_and_brought_back(page: Page) -> None:
    newest = cards(page).first
    newest.get_by_role("button", name="not this one").click()
    expect(newest.get_by_role("heading", name="Not this one. It is wiped by tomorrow.")).to_be_visible()
    newest.get_by_role("button", name="bring it back").click()
    expect(newest.get_by_role("link", name="look together")).to_be_visible()


def two_compared_after_a_guess(page: Page) -> None:
    """The question comes before the pictures; behind the fold stands which way each went."""
    page.locator("a[href^='/beside/']").first.click()
    expect(page.locator("fieldset.ask")).to_be_visible()
    expect(page.get_by_text("asked and heard").first).to_be_hidden()
    page.get_by_role("radio", name="proud").check(force=True)
    page.locator("fieldset.ask + .presses button").click()
    expect(page.get_by_text("You heard proud.").first).to_be_visible()
    page.locator("#teacher > summary").click()
    expect(page.get_by_text("asked and heard").first).to_be_visible()


def note_signed(page: Page, address: str) -> None:
    page.goto(address)
    page.locator("#teacher > summary").click()
    page.locator("a[href^='/note/']").first.click()
    expect(page.locator("body.draft")).to_be_visible()
    page.get_by_role("textbox", name="your name").fill("Ann Teacher")
    page.get_by_role("button", name="Sign").click()
    expect(page.locator("body.signed")).to_be_visible()
    expect(page.get_by_text("Ann Teacher").first).to_be_visible()


@contextmanager
def served(jack: Jack, folder: Path) -> Iterator[tuple[str, Path]]:
    """`keysense serve` as a teacher starts it, on an empty studio; gives its address and the studio's folder."""
    studio, out = folder / "studio", folder / "serve.out"
    Studio.open(studio).close()
    ListeningState(studio / "journal").switch(True)
    port = free_port()
    command = [sys.executable, "-m", "keysense", "serve", "--no-browser", "--studio", str(studio), "--port", str(port)]
    with out.open("w") as said, started(command, jack, said.fileno()) as serve:
        try:
            yield f"http://127.0.0.1:{port}", studio
        finally:
            serve.send_signal(signal.SIGINT)
            serve.wait(20)
            told(out, studio)


def told(out: Path, studio: Path) -> None:
    """What keysense said and heard, to be read where the lesson went otherwise than it should."""
    print(out.read_text(), *(log.read_text() for log in (studio / "log").iterdir() if log.is_file()))
    for journal in (studio / "journal").glob("*.journal"):
        print(*((record.time_ns, record.kind.name, record.payload.hex()) for record in read_journal(journal).records))


@contextmanager
def opened(browser: Browser, address: str) -> Iterator[tuple[Page, list[str]]]:
    """The lesson's page, and a list that fills with console errors and with requests to another host."""
    wait_for(lambda: answers(address), 60)
    page, wrong = browser.new_page(viewport={"width": 1280, "height": 900}), []
    page.set_default_timeout(LIMIT_MS)
    own = (address, address.replace("http", "ws"), "data:")
    page.on("request", lambda asked: None if asked.url.startswith(own) else wrong.append(f"asked for {asked.url}"))
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("console", lambda said: wrong.append(said.text) if said.type == "error" else None)
    page.goto(address)
    yield page, wrong
    page.close()


def answers(address: str) -> bool:
    try:
        with urllib.request.urlopen(address):
            return True
    except urllib.error.URLError:
        return False
