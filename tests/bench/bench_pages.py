"""Pages of a long take in a real Chromium: the browser's own paint timings, the weight that comes over the wire.

Page: the take of `fixtures.long_take`, 204 notes in both hands, folded and open, served on this machine. Warm: the take
has been looked at and the page has been open once. Bars asked: first paint 200 ms, full page 500 ms, 600 kB compressed.
Engraving is timed by `bench_targets`.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
from playwright.sync_api import Browser

from fixtures.chromium import chromium
from fixtures.long_take import long_take
from fixtures.serving import served
from fixtures.studio_for_pages import NOW, furnish
from keysense.studio.studio import Studio
from keysense.web.app import create_app

TIMES = 11

_TIMINGS = """() => new Promise(done => {
  const said = () => { const [page] = performance.getEntriesByType('navigation');
    const [paint] = performance.getEntriesByName('first-contentful-paint');
    const [first] = performance.getEntriesByName('first-paint');
    if (!paint || !page.loadEventEnd) { setTimeout(said, 10); return; }
    const parts = performance.getEntriesByType('resource');
    done([first.startTime, page.loadEventEnd, page.responseEnd,
      page.transferSize + parts.reduce((sum, part) => sum + part.transferSize, 0)]); };
  said(); })"""


def main() -> None:
    with tempfile.TemporaryDirectory() as folder, Studio.open(Path(folder) / "studio", now=lambda: NOW) as studio:
        there = furnish(studio, weeks=8)
        long, n = long_take(studio, pupil=there.pip)
        pages = {
            "lesson": "/",
            f"take, {n} notes, the question": f"/take/{long}",
            f"take, {n} notes, folded": f"/take/{long}?guess=skip",
            f"take, {n} notes, opened": f"/take/{long}?guess=skip&open=1",
            f"shape, {n} notes": f"/shape/{long}",
            "two characters": f"/beside/{there.sleepy}/{there.proud}?guess=skip",
            "weeks": f"/weeks/{there.odile}",
        }
        with served(create_app(studio)) as address, chromium() as browser:
            for said, path in pages.items():
                print(told(said, browser, address + path))


def told(said: str, browser: Browser, address: str) -> str:
    """One line for one page: best, median and slowest of the warm visits; a shared machine is told by the best."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    page.goto(address)
    cold = page.evaluate(_TIMINGS)
    warm = []
    for _ in range(TIMES):
        page.goto(address)
        warm.append(page.evaluate(_TIMINGS))
    context.close()
    rows = np.array(warm, float)
    paint, full, answered = (
        f"{rows[:, k].min():.0f}, {np.median(rows[:, k]):.0f}, {rows[:, k].max():.0f} ms" for k in range(3)
    )
    return (
        f"{said}: best, median and slowest of {TIMES}: answered {answered}; first paint {paint}; full page {full}; "
        f"first visit {cold[0]:.0f} and {cold[1]:.0f} ms, {cold[3] / 1000:.0f} kB over the wire"
    )
