"""What a take sounds like beside what it is called: how often it is asked rightly, and how often without need.

``python tests/bench/bench_asking.py`` prints the figures; nothing is asserted. The truth is planted: who plays which of
five invented tunes, with one note in ten struck otherwise, at an uneven pace, two of them in one take or one alone.
"""

from __future__ import annotations

import sys
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.append(str(Path(__file__).resolve().parents[2]))

from keysense.demo.performer import Playing, perform
from keysense.messages import normalise
from keysense.notes import Take
from keysense.smf import take_to_smf
from keysense.studio import Studio
from keysense.studio.looking import heard
from keysense.targets import read_target

SCORES = Path(__file__).resolve().parents[2] / "fixtures" / "scores"
TUNES = ("millers_cat_marked", "up_and_down_the_stairs", "ferry_bell", "gate_posts", "three_doors_1")
TAKES = 50


def played(studio: Studio, piece: str, rng: np.random.Generator) -> Take:
    """One invented take of a piece."""
    music = studio.target_of(piece).target
    n = len(music.notes)
    slips = rng.choice(n, max(1, n // 10), replace=False)
    other = {int(row): int(np.clip(music.notes["pitch"][row] + rng.choice([-2, -1, 1, 2]), 21, 108)) for row in slips}
    way = Playing(float(rng.uniform(70, 110)), [(0, 55), (32, 70)], unsteady=0.08, other=other)
    return normalise(perform(music, way, int(rng.integers(1 << 30))))


def put(studio: Studio, take: Take, pupil: str, piece: str) -> str:
    """A take called by this piece, looked at."""
    ref = studio.add_take(take, take_to_smf(take), started_utc=studio.now())
    studio.name_take(ref, pupil=pupil, piece=piece)
    heard(studio, ref)
    return ref


def one_after_the_other(a: Take, b: Take, gap_s: float) -> Take:
    """Two playings as one take."""
    late = b.notes.copy()
    for name in ("onset_s", "release_s"):
        late[name] += a.duration_s + gap_s - b.notes["onset_s"][0]
    return replace(a, notes=np.concatenate([a.notes, late]))


def main() -> int:
    """Print how often each question was asked where it should be, and where it should not."""
    rng = np.random.default_rng(11)
    with tempfile.TemporaryDirectory() as folder, Studio.open(Path(folder) / "studio") as studio:
        pip = studio.add_pupil("Pip", agreed_by="mother", on=studio.today()).id
        pieces = []
        for tune in TUNES:
            pieces.append(studio.add_piece(tune).id)
            studio.add_target(pieces[-1], read_target(SCORES / f"{tune}.musicxml"))
        asked, near, needless, caught = 0, 0, 0, 0
        for _ in range(TAKES):
            first, second = (pieces[i] for i in rng.choice(len(pieces), 2, replace=False))
            a, b = played(studio, first, rng), played(studio, second, rng)
            both = put(studio, one_after_the_other(a, b, float(rng.uniform(0.7, 2.5))), pip, first)
            cut = next((doubt.body for doubt in studio.doubts(both) if doubt.kind == "cut"), None)
            asked += cut is not None and (cut["first"], cut["second"]) == (first, second)
            near += cut is not None and abs(cut["note"] - len(a)) <= 1
            needless += bool(studio.doubts(put(studio, played(studio, first, rng), pip, first)))
            wrong = studio.doubts(put(studio, played(studio, second, rng), pip, first))
            caught += any(doubt.kind == "piece" and doubt.body["sounds"] == second for doubt in wrong)
    print(f"two tunes in one take: asked about by their right names {asked} of {TAKES}, split within a note {near}")
    print(f"called by another piece: asked about, with the right one named {caught} of {TAKES}")
    print(f"one tune, rightly called: a needless question in {needless} of {TAKES}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
