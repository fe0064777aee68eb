"""The gallery: a picture of every page of an invented studio, written by ``make gallery``.

The studio is `fixtures.studio_for_pages`; the pages are served and looked at in the same Chromium as in the tests.
Each picture is reduced to few colours, so that the whole gallery stays small.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from datetime import timedelta
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, sync_playwright

ROOT = Path(__file__).resolve().parents[1]
sys.path.append(str(ROOT))  # the made-up studios stand beside the tests, not in the package

from fixtures.serving import served  # noqa: E402
from fixtures.studio_for_pages import NOW, SLEEPY, PagesStudio, furnish, play_take  # noqa: E402
from keysense.studio.studio import Studio  # noqa: E402
from keysense.web.app import create_app  # noqa: E402

FOLDER = ROOT / "dashboards" / "gallery"
CHROMIUMS = ("chromium", "chromium-browser", "google-chrome", "chrome")
FLAGS = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking")
LOOKS = (("narrow", 360, "light"), ("wide", 1200, "light"), ("dark", 820, "dark"))
MOST_BYTES = 1_500_000
_COLOURS = 32


def main() -> int:
    """Write the pictures anew; gives 1 where they have grown too large for the repository."""
    shutil.rmtree(FOLDER, ignore_errors=True)
    FOLDER.mkdir()
    program = next(path for name in CHROMIUMS if (path := shutil.which(name)))
    with tempfile.TemporaryDirectory() as folder, Studio.open(Path(folder) / "studio", now=lambda: NOW) as studio:
        paths = pages(there := furnish(studio, weeks=8))
        more_takes(studio, there)
        with served(create_app(studio)) as address, sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=program, args=list(FLAGS))
            for name, path in paths.items():
                picture(browser, address + path, name)
            browser.close()
    written = sorted(FOLDER.glob("*.png"))
    size = sum(file.stat().st_size for file in written)
    print(f"{len(written)} pictures, {size / 1e6:.2f} MB, in {FOLDER.relative_to(ROOT)}")
    return int(size > MOST_BYTES)


def pages(there: PagesStudio) -> dict[str, str]:
    """Every page by the name of its picture; those that hold figures stay folded."""
    pair = f"/beside/{there.sleepy}/{there.proud}"
    return {
        "lesson": "/",
        "question": f"/take/{there.sleepy}",
        "take": f"/take/{there.sleepy}?guess=end",
        "louder": pair,
        "two_characters": f"{pair}?guess=second",
        "weeks": f"/weeks/{there.odile}",
        "places": f"/spots/{there.pip}/{there.cat}",
        "studio": "/studio",
    }


def more_takes(studio: Studio, there: PagesStudio) -> None:
    """Earlier takes of the tune, so that a place that comes back can be seen."""
    music = studio.target_of(there.cat).target
    for day in (2, 3, 4):
        take = play_take(studio, music, SLEEPY, seed=60 + day, ago=timedelta(days=day))
        studio.name_take(take, pupil=there.pip, piece=there.cat, character="sleepy")


def picture(browser: Browser, address: str, name: str) -> None:
    """One page in each look."""
    for look, width, scheme in LOOKS:
        context = browser.new_context(viewport={"width": width, "height": 800}, color_scheme=scheme)  # type: ignore[arg-type]
        page = context.new_page()
        page.goto(address)
        page.evaluate("document.fonts.ready.then(() => true)")
        height = page.evaluate("document.documentElement.scrollHeight")  # else the fold's tab crosses the middle
        page.set_viewport_size({"width": width, "height": height})
        file = FOLDER / f"{name}_{look}.png"
        page.screenshot(path=file)
        with Image.open(file) as drawn:
            drawn.convert("RGB").quantize(_COLOURS, dither=Image.Dither.NONE).save(file, optimize=True)
        context.close()


if __name__ == "__main__":
    sys.exit(main())
