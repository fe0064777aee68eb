"""How long keeping takes: the first word of a command, a studio opened, a take kept, looked at and found again.

Prints the median of 7; nothing is asserted. The studio holds two years of a teacher of 35 pupils (20,000 takes).
"""

from __future__ import annotations

import random
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
from sqlalchemy import insert

from keysense.notes import Take
from keysense.smf import take_to_smf
from keysense.studio import Studio
from keysense.studio.looking import heard
from keysense.studio.tables import FindingRow, TakeRow, new_id
from keysense.targets.target import Target

_TAKES = 20_000
_START = datetime(2025, 9, 1, 15, tzinfo=UTC)
_NAMES = ("tempo", "drift", "evenness_timing", "evenness_loudness", "rise", "overlap", "hold_ratio", "hands_lag",
          "notes_as_written", "notes_other_pitch", "notes_left_out", "waits")  # fmt: skip


def median_ms(do: Callable[[], object], times: int = 7) -> float:
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        do()
        spent.append(1000 * (time.perf_counter() - start))
    return statistics.median(spent)


def tell(what: str, do: Callable[[], object]) -> None:
    print(f"{what:58} {median_ms(do):9.1f} ms")


def tune(n: int) -> tuple[Target, Take]:
    walk = np.random.default_rng(1)
    pitch = 60 + np.cumsum(walk.integers(-3, 4, n)) % 20
    target = Target.from_notes(
        onset_quarter=np.arange(n), duration_quarter=np.ones(n), pitch=pitch, hand=["R"] * n, tempo_qpm=100
    )
    onset = np.cumsum(0.6 * np.exp(walk.normal(0, 0.05, n)))
    take = Take.from_notes(
        onset_s=onset, release_s=onset + 0.5, pitch=pitch, velocity=np.clip(walk.normal(60, 8, n), 1, 127).round()
    )
    return target, take


def fill(studio: Studio) -> tuple[list[str], list[str]]:
    """Two years of takes with twelve findings each, written as rows: nothing of them is played."""
    pupils = [studio.add_pupil(f"Pupil {i}", agreed_by="a parent", on="2025-01-01").id for i in range(35)]
    pieces = [studio.add_piece(f"Tune {i}").id for i in range(60)]
    targets = [studio.add_target(piece, tune(26)[0]).id for piece in pieces]
    smf, chance = take_to_smf(tune(64)[1]), random.Random(1)
    takes, findings = [], []
    for i in range(_TAKES):
        k, ref, when = chance.randrange(60), new_id(), _START + timedelta(minutes=50 * i)
        takes.append({"id": ref, "added_utc": when, "started_utc": when, "duration_s": 40.0, "n": 64, "state": "kept",
                      "pupil_id": chance.choice(pupils), "piece_id": pieces[k], "smf": smf})  # fmt: skip
        findings += [{"take_id": ref, "target_id": targets[k], "name": name, "place": "|R|", "recipe": 1, "hand": "R",
                      "value": chance.random(), "low": 0.0, "high": 1.0, "n": 20, "unit": "%"}
                     for name in _NAMES]  # fmt: skip
    with studio._store.write() as session:
        session.execute(insert(TakeRow), takes)
        session.execute(insert(FindingRow), findings)
    return pupils, pieces


def main() -> None:
    program = [sys.executable, "-m", "keysense"]
    with tempfile.TemporaryDirectory() as place:
        tell(
            "keysense --help", lambda: subprocess.run([*program, "--help"], check=True, capture_output=True, cwd=place)
        )
        root = Path(place) / "studio"
        with Studio.open(root) as studio:
            pupils, pieces = fill(studio)
        print(f"{_TAKES} takes: {(root / 'studio.sqlite').stat().st_size / 1e6:.0f} MB")
        tell("open the studio", lambda: Studio.open(root).close())
        with Studio.open(root) as studio:
            tell("one finding of one pupil and piece over the weeks",
                 lambda: studio.weeks_of(pupils[0], pieces[0], "evenness_timing", "R"))  # fmt: skip
            tell("the newest 20 takes", lambda: studio.takes(limit=20))
            tell("the last take", lambda: studio.take("last"))
            tell("what a typed line means", lambda: studio.propose("pupil 3 tune 7 sleepy"))
            for n in (26, 200):
                target, take = tune(n)
                piece = studio.add_piece(f"The long one, {n}")
                studio.add_target(piece.id, target)
                studio.set_context(pupil=pupils[0], piece=piece.id)
                smf = take_to_smf(take)
                refs: list[str] = []
                tell(f"keep a take of {n} notes",
                     lambda: refs.append(studio.add_take(take, smf, started_utc=_START)))  # noqa: B023  # fmt: skip
                tell("   follow it, the likely other tunes too, look, keep what was heard",
                     lambda: heard(studio, refs.pop()))  # noqa: B023  # fmt: skip


if __name__ == "__main__":
    main()
