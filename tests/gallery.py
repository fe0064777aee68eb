"""The gallery: a picture of every page of an invented studio, written by ``make gallery``.

The studio is `fixtures.studio_for_pages`; the pages are served and looked at in the same Chromium as in the tests.
Each picture is reduced to few colours, so that the whole gallery stays small.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
import threading
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from datetime import timedelta
from pathlib import Path
from typing import Any

from PIL import Image
from playwright.sync_api import Browser

ROOT = Path(__file__).resolve().parents[1]
sys.path.append(str(ROOT))  # the made-up studios stand beside the tests, not in the package

from fixtures.chromium import chromium  # noqa: E402
from fixtures.serving import served  # noqa: E402
from fixtures.studio_for_pages import NOW, SLEEPY, PagesStudio, furnish, play_take  # noqa: E402
from keysense.capture.state import ListeningState, Said  # noqa: E402
from keysense.demo.performer import Playing  # noqa: E402
from keysense.papers import call  # noqa: E402
from keysense.studio.looking import look_at  # noqa: E402
from keysense.studio.studio import Studio  # noqa: E402
from keysense.web.app import create_app  # noqa: E402

FOLDER = ROOT / "dashboards" / "gallery"
LOOKS = (("narrow", 360, "light"), ("wide", 1200, "light"), ("dark", 820, "dark"))
MOST_BYTES = 3_000_000
_COLOURS = 44
# a picture of a whole page is no screen: the fold's tab would cross its middle, and lines far down would be missing
_WHOLE = "summary { position: static !important } .system { content-visibility: visible !important }"


def main() -> int:
    """Write the pictures anew; gives 1 where they have grown too large for the repository."""
    shutil.rmtree(FOLDER, ignore_errors=True)
    FOLDER.mkdir()
    with ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory()))
        studio, empty = (stack.enter_context(Studio.open(folder / name, now=lambda: NOW)) for name in ("a", "empty"))
        there = furnish(studio, weeks=8)
        more_takes(studio, there)
        more_weeks(studio, there)
        call(studio, "Tallow Bridge Music Room")
        for one in (studio, empty):
            stack.enter_context(heard(one))
        address, bare = (stack.enter_context(served(create_app(one, Quiet()))) for one in (studio, empty))
        addresses = {"first_minute": bare} | {name: address + path for name, path in pages(there).items()}
        browser = stack.enter_context(chromium())
        for look, width, scheme in LOOKS:
            pictures(browser, addresses, look, width, scheme)
    written = sorted(FOLDER.glob("*.png"))
    size = sum(file.stat().st_size for file in written)
    print(f"{len(written)} pictures, {size / 1e6:.2f} MB, in {FOLDER.relative_to(ROOT)}")
    return int(size > MOST_BYTES)


class Quiet:
    """A lesson in which nobody plays."""

    def __init__(self) -> None:
        self._end = threading.Event()

    def run(self, on_event: Callable[[dict[str, Any]], None]) -> None:
        self._end.wait()

    def stop(self) -> None:
        self._end.set()


@contextmanager
def heard(studio: Studio) -> Iterator[None]:
    """A studio whose piano is said to be listened to for as long as this lasts."""
    said, ended = Said(studio.folder.journal), threading.Event()
    ListeningState(studio.folder.journal).switch(True)

    def say() -> None:
        while not ended.wait(0.5):
            said.say(connected=True, piano="", pianos=())

    said.say(connected=True, piano="", pianos=())
    saying = threading.Thread(target=say, daemon=True)
    saying.start()
    yield
    ended.set()
    saying.join()


def pages(there: PagesStudio) -> dict[str, str]:
    """Every page by the name of its picture; of two that hold figures, also opened for the teacher."""
    pair = f"/beside/{there.sleepy}/{there.proud}"
    return {
        "lesson": "/",
        "question": f"/take/{there.sleepy}",
        "take": f"/take/{there.sleepy}?guess=end",
        "louder": pair,
        "two_characters": f"{pair}?guess=second",
        "weeks": f"/weeks/{there.odile}",
        "weeks_opened": f"/weeks/{there.odile}?open=1",
        "places": f"/spots/{there.pip}/{there.cat}",
        "studio": "/studio",
        "pieces": "/pieces",
        "piece": f"/piece/{there.cat}",
        "mark": f"/piece/{there.cat}/mark",
        "character": "/character/sleepy",
        "shape": f"/shape/{there.sleepy}",
        "draw": f"/draw/{there.pip}/{there.cat}?character=sleepy",
        "take_opened": f"/take/{there.sleepy}?guess=end&open=1",
        "two_opened": f"{pair}?guess=second&open=1",
        "note": f"/note/{there.pip}",
        "slip": f"/slip/{there.pip}",
        "card": f"/card/{there.pip}",
        "pianos": "/pianos",
        "elsewhere": "/elsewhere",
        "kept": f"/kept/{there.pip}?open=1",
    }


def more_takes(studio: Studio, there: PagesStudio) -> None:
    """Earlier takes of the tune, so that a place that comes back can be seen."""
    music = studio.target_of(there.cat).target
    for day in (2, 3, 4):
        take = play_take(studio, music, SLEEPY, seed=60 + day, ago=timedelta(days=day))
        studio.name_take(take, pupil=there.pip, piece=there.cat, character="sleepy")


def more_weeks(studio: Studio, there: PagesStudio) -> None:
    """Weeks as they are: the old piano before, a week without a lesson, and a new piece too new to tell."""
    stairs = studio.target_of(there.stairs).target
    for week in (12, 11, 10):
        warm = Playing(96, [(0, 60), (32, 64)], unsteady=0.15, hold=0.9)
        take = play_take(studio, stairs, warm, seed=70 + week, ago=timedelta(weeks=week), piano="the old piano")
        studio.name_take(take, pupil=there.odile, piece=there.stairs)
        look_at(studio, take)
    cat = studio.target_of(there.cat).target
    for week in (4, 3, 1):
        tune = Playing(88, [(0, 60), (32, 70)], unsteady=0.08, hold=0.9)
        take = play_take(studio, cat, tune, seed=90 + week, ago=timedelta(weeks=week))
        studio.name_take(take, pupil=there.odile, piece=there.cat)
        look_at(studio, take)


def pictures(browser: Browser, addresses: dict[str, str], look: str, width: int, scheme: Any) -> None:
    """Every page in one look."""
    context = browser.new_context(viewport={"width": width, "height": 800}, color_scheme=scheme)
    page = context.new_page()
    for name, address in addresses.items():
        page.goto(address)
        page.evaluate("document.fonts.ready.then(() => true)")
        page.add_style_tag(content=_WHOLE)
        file = FOLDER / f"{name}_{look}.png"
        page.screenshot(path=file, full_page=True)
        with Image.open(file) as drawn:
            drawn.convert("RGB").quantize(_COLOURS, Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE).save(
                file, optimize=True
            )
    context.close()


if __name__ == "__main__":
    sys.exit(main())
