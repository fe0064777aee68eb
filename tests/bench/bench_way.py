"""From the end of the silence to the finished page, in parts: a take of 200 notes, medians of seven."""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import httpx
import numpy as np

from fixtures.serving import served
from keysense.demo import room
from keysense.demo.day import Day
from keysense.demo.performer import Playing, perform
from keysense.engraving import engrave
from keysense.findings import look
from keysense.following import follow
from keysense.listening import recover
from keysense.studio import Studio
from keysense.studio.looking import look_at
from keysense.targets.target import Target
from keysense.web.app import create_app

PROGRAM = Path(sys.executable).with_name("keysense")
TIMES = 7


def main() -> None:
    command("keysense --help", "--help")
    with tempfile.TemporaryDirectory() as folder, Studio.open(folder) as studio:
        piece, target = long_piece(studio)
        day = Day(studio.folder.journal, datetime.now(UTC))
        ids: list[str] = []

        def cut_and_keep() -> None:
            (found,) = recover(studio, flag="")
            ids.append(found.take_id)

        messages = perform(target, Playing(96, [(0, 50), (100, 80)], unsteady=0.04, touch_spread=4), 1)
        times = []
        for _ in range(TIMES):
            day.play(messages)
            times.append(once(cut_and_keep))
        report("cut and keep", times)
        for take_id in ids:
            studio.name_take(take_id, piece=piece)
        take = studio.take_notes(ids[0])
        print(f"   ({len(take)} notes against {len(target.notes)})")
        report("follow", repeated(lambda: follow(target, take)))
        report("follow and look", repeated(lambda: look(take, target)))
        report("follow, look, keep", repeated(lambda: look_at(studio, ids[0])))
        report(
            "engrave, not seen before",
            [once(lambda wide=wide: engrave(target, width=wide)) for wide in range(1400, 1400 + TIMES)],
        )
        with served(create_app(studio)) as address, httpx.Client(base_url=address) as client:
            report("first page", repeated(lambda: client.get("/").raise_for_status()))
            pages = [once(lambda t=take_id: client.get(f"/take/{t}").raise_for_status()) for take_id in ids]  # type: ignore[misc]
            report("take page", pages)
        fresh = perform(target, Playing(90, [(0, 50), (100, 80)], unsteady=0.04), 2)
        with served(create_app(studio)) as address, httpx.Client(base_url=address) as client:
            day.play(fresh)

            def whole_way() -> None:
                (found,) = recover(studio, flag="")
                studio.name_take(found.take_id, piece=piece)
                look_at(studio, found.take_id)
                client.get(f"/take/{found.take_id}").raise_for_status()

            print(f"   the whole way, once, from the cut to the page: {once(whole_way) * 1000:.0f} ms")


def long_piece(studio: Studio) -> tuple[str, Target]:
    """The cat five times over: about two hundred notes, engraved from a score of its own."""
    cat = room.score("millers_cat")
    piece = studio.add_piece("The Cat, five times")
    notes = np.concatenate([cat.notes] * 5)
    notes["onset_quarter"] += np.repeat(np.arange(5) * 32.0, len(cat.notes))
    target = Target.from_notes(
        onset_quarter=notes["onset_quarter"], duration_quarter=notes["duration_quarter"], pitch=notes["pitch"],
        hand=notes["hand"], tempo_qpm=96, phrases=[[16 * n, 16 * n + 16] for n in range(10)], source=cat.source,
        id=[f"{note_id}~{n}" if n else str(note_id) for n in range(5) for note_id in cat.notes["id"]],
    )  # fmt: skip
    studio.add_target(piece.id, target)
    return piece.id, target


def once(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def repeated(work: Callable[[], object]) -> list[float]:
    return [once(work) for _ in range(TIMES)]


def report(name: str, times: list[float]) -> None:
    print(f"   {name:28s} median {statistics.median(times) * 1000:6.0f} ms, first {times[0] * 1000:6.0f} ms")


def command(name: str, *words: str) -> None:
    report(name, repeated(lambda: subprocess.run([PROGRAM, *words], stdout=subprocess.DEVNULL, check=True)))
