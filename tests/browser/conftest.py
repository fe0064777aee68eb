"""A real Chromium before real pages, and a lesson that plays when the test says so."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from fixtures.serving import served
from fixtures.studio_for_pages import NOW, PagesStudio, furnish
from keysense.studio.studio import Studio
from keysense.web.app import create_app

expect.set_options(timeout=15_000)  # a busy machine is slow, which no test here is about


class Played:
    """A lesson whose events come from the test."""

    def __init__(self) -> None:
        self.tell: Callable[[dict[str, Any]], None] = lambda event: None
        self._end, self._began = threading.Event(), threading.Event()

    def run(self, on_event: Callable[[dict[str, Any]], None]) -> None:
        self.tell = on_event
        self._began.set()
        self._end.wait()

    def stop(self) -> None:
        self._end.set()


@dataclass
class Lesson:
    """What a browser test stands before."""

    address: str
    studio: Studio
    there: PagesStudio
    played: Played
    asked: list[str] = field(default_factory=list)

    def paths(self) -> dict[str, str]:
        """Every page, the folds closed and open."""
        there = self.there
        return {
            "lesson": "/",
            "question": f"/take/{there.sleepy}",
            "take": f"/take/{there.sleepy}?guess=end&open=1",
            "shape": f"/shape/{there.sleepy}",
            "draw": f"/draw/{there.pip}/{there.cat}?character=sleepy",
            "unnamed": f"/take/{there.unnamed}",
            "louder": f"/beside/{there.sleepy}/{there.proud}",
            "two": f"/beside/{there.sleepy}/{there.proud}?guess=second&open=1",
            "whose": "/weeks",
            "weeks": f"/weeks/{there.odile}?open=1",
            "studio": "/studio",
            "elsewhere": "/elsewhere",
            "kept": f"/kept/{there.pip}?open=1",
            "pianos": "/pianos",
            "overnight": f"/overnight/{there.pip}?open=1",
            "spots": f"/spots/{there.pip}/{there.cat}?open=1",
            "pieces": "/pieces",
            "piece": f"/piece/{there.cat}",
            "mark": f"/piece/{there.cat}/mark?for=sleepy",
            "character": "/character/sleepy",
            "nothing": "/take/ffffffff",
        }


@pytest.fixture(scope="module")
def lesson(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lesson]:
    """One furnished studio a file of tests, its pages served, its piano in the test's hands."""
    folder: Path = tmp_path_factory.mktemp("pages") / "studio"
    with Studio.open(folder, now=lambda: NOW) as studio:
        there, played = furnish(studio, weeks=6), Played()
        with served(create_app(studio, played)) as address:
            yield Lesson(address, studio, there, played)


@pytest.fixture(scope="session")
def context_of(browser: Browser) -> Callable[..., BrowserContext]:
    """One context for each set of options: the pages keep nothing in the browser, and a context costs half a second."""
    made: dict[tuple[tuple[str, Any], ...], BrowserContext] = {}

    def context(**options: Any) -> BrowserContext:
        key = tuple(sorted(options.items()))
        return made.get(key) or made.setdefault(key, browser.new_context(**options))

    return context


@pytest.fixture
def open_page(context_of: Callable[..., BrowserContext], lesson: Lesson) -> Iterator[Callable[..., Page]]:
    """Opens a page at a width, light or dark; fails on console errors and on requests to another host."""
    pages: list[Page] = []
    wrong: list[str] = []

    def opened(path: str, width: int = 1440, **options: Any) -> Page:
        page = context_of(**options).new_page()
        pages.append(page)
        page.set_viewport_size({"width": width, "height": 900})
        page.on("request", lambda request: _note_request(request.url, lesson.address, wrong))
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on("console", lambda said: _note_console(said.type, said.text, wrong))
        page.goto(lesson.address + path)
        return page

    yield opened
    for page in pages:
        page.close()
    assert not wrong


def _note_request(url: str, address: str, wrong: list[str]) -> None:
    if not url.startswith((address, address.replace("http", "ws"), "data:")):
        wrong.append(f"asked for {url}")


def _note_console(kind: str, text: str, wrong: list[str]) -> None:
    if kind == "error" and "404" not in text:
        wrong.append(text)
