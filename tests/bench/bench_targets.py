"""Reading a score, engraving it, and reading a tune played in: times, and how often the model is the tune meant.

``python tests/bench targets``; nothing is asserted. Times are the median of 7.
"""

from __future__ import annotations

import importlib
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from fixtures.scores.text import Score
from fixtures.scores.writing import musicxml
from keysense.engraving import engrave, engraver
from keysense.notes import Take
from keysense.targets import read_target
from keysense.targets.model import model_target
from keysense.targets.target import Target

SCORES = Path(__file__).resolve().parents[2] / "fixtures" / "scores"
SEEDS = 100


def median_ms(work: Callable[[], object]) -> float:
    times = []
    for _ in range(7):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return statistics.median(times) * 1e3


def engrave_anew(target: Target, width: int) -> None:
    engraver._engraved.cache_clear()
    engrave(target, width=width)


def imported_s(module: str) -> float:
    code = f"import time; t = time.perf_counter(); import {module}; print(time.perf_counter() - t)"
    runs = [subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True) for _ in range(3)]
    return statistics.median(float(run.stdout) for run in runs)


def long_page(folder: str, bars: int) -> Path:
    right = " | ".join(["C4:1/2( E4:1/2 G4:1/2 E4:1/2) F4:1/2' D4:1/2' G4"] * bars)
    path = Path(folder) / f"{bars}.musicxml"
    path.write_text(musicxml(Score("Long", [right, " | ".join(["C3:2 G3:2"] * bars)])), "utf-8")
    return path


def main() -> None:
    print(f"importing partitura (once, on the first score) {imported_s('partitura'):6.2f} s")
    print(f"importing keysense.engraving                   {imported_s('keysense.engraving'):6.2f} s")
    importlib.import_module("partitura")
    with tempfile.TemporaryDirectory() as folder:
        for path in (SCORES / "millers_cat.musicxml", *(long_page(folder, n) for n in (16, 32, 128, 208))):
            target = read_target(path)
            read = median_ms(lambda path=path: read_target(path))
            drawn = [median_ms(lambda target=target, w=w: engrave_anew(target, w)) for w in (900, 1440)]
            kept = median_ms(lambda target=target: engrave(target, width=1440))
            print(
                f"{path.stem:12} {len(target.bars):4} bars {len(target.notes):5} notes: read {read:7.1f} ms, "
                f"engrave {drawn[0]:6.1f} ms narrow {drawn[1]:6.1f} ms wide, {kept:.3f} ms again"
            )
    for name in ("millers_cat", "ferry_bell", "up_and_down_the_stairs", "tuplets"):
        models(name)


def models(name: str) -> None:
    page = read_target(SCORES / f"{name}.musicxml")
    for count in (1, 3):
        right, misses = 0, []
        for seed in range(SEEDS):
            takes = [play(page, 97 * seed + k) for k in range(count)]
            target = model_target(takes, tempo_qpm=90, quarters_per_bar=float(page.bars["length_quarter"][0]))
            right += rows(target) == rows(page)
            misses.append(abs((target.tempo_qpm or 0.0) / 96 - 1) * 100)
        print(
            f"{name:24} {count} playing(s): the tune meant {right:3} of {SEEDS}, "
            f"pulse off by {np.median(misses):.1f} % (95 %: {np.percentile(misses, 95):.1f} %)"
        )


def play(page: Target, seed: int) -> Take:
    """96 quarters a minute, ln IOI spread .03, a third of a quarter more at phrase ends."""
    rng = np.random.default_rng(seed)
    places = np.unique(page.notes["onset_quarter"])
    steps = np.diff(places) * 60 / 96 * np.exp(rng.normal(0, 0.03, len(places) - 1))
    steps[np.isin(places[1:], page.phrases[:, 1])] *= 1.35
    onset = np.interp(page.notes["onset_quarter"], places, np.concatenate([[0.0], np.cumsum(steps)]))
    onset += rng.normal(0, 0.004, len(onset))
    onset -= onset.min()
    return Take.from_notes(
        onset_s=onset,
        release_s=onset + page.notes["duration_quarter"] * 0.58,
        pitch=page.notes["pitch"],
        velocity=np.full(len(onset), 64),
    )


def rows(target: Target) -> list[tuple[float, int]]:
    return sorted(zip(target.notes["onset_quarter"].round(6).tolist(), target.notes["pitch"].tolist(), strict=True))


if __name__ == "__main__":
    main()
