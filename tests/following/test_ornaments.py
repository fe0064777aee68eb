"""Ornaments that the page asks for by a sign, played out: of one note, and neither slips nor extra notes."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from keysense.findings import Reading, look
from keysense.notes import Take
from keysense.targets import read_target

TUNE = [0, 2, 4, 5, 4, 3, 2, 1, 0, 2, 4, 7, 6, 5, 4, 3, 2, 4, 5, 4, 3, 2, 1, 0]  # white keys from middle C
SIGNS = {3: "mordent", 7: "trill-mark", 11: "turn", 15: "trill-mark", 18: "inverted-mordent"}
STEPS = {  # white keys from the note, and when each begins, in shares of it
    "mordent": ([0, -1, 0], [0, 0.13, 0.26]),
    "inverted-mordent": ([0, 1, 0], [0, 0.13, 0.26]),
    "trill-mark": ([0, 1, 0, 1, 0, 1], [k / 6 for k in range(6)]),
    "turn": ([1, 0, -1, 0], [k / 4 for k in range(4)]),
}
STEP_S = 60 / 90


def key(degree: int) -> int:
    return 60 + 12 * (degree // 7) + (0, 2, 4, 5, 7, 9, 11)[degree % 7]


def page(path: Path, signs: dict[int, str]) -> None:
    notes = [
        f"<note><pitch><step>{'CDEFGAB'[degree % 7]}</step><octave>{4 + degree // 7}</octave></pitch>"
        + "<duration>1</duration>"
        + (f"<notations><ornaments><{signs[i]}/></ornaments></notations>" if i in signs else "")
        + "</note>"
        for i, degree in enumerate(TUNE)
    ]
    head = "<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
    bars = [
        f'<measure number="{bar + 1}">{"" if bar else head}{"".join(notes[4 * bar : 4 * bar + 4])}</measure>'
        for bar in range(len(TUNE) // 4)
    ]
    path.write_text(
        '<?xml version="1.0"?><score-partwise version="4.0"><part-list><score-part id="P1"><part-name>P</part-name>'
        f'</score-part></part-list><part id="P1">{"".join(bars)}</part></score-partwise>'
    )


def played(seed: int, signs: dict[int, str], *more: tuple[float, int]) -> Take:
    """The tune at 90 with these ornaments, and more presses: (quarter, key)."""
    rng = np.random.default_rng(seed)
    rows = [(quarter, pitch, 0.2) for quarter, pitch in more]
    for i, degree in enumerate(TUNE):
        beside, share = STEPS[signs[i]] if i in signs else ([0], [0])
        ends = [*share[1:], 0.95]
        rows += [(i + a, key(degree + by), b - a) for by, a, b in zip(beside, share, ends, strict=True)]
    onset, pitch, length = np.array(sorted(rows)).T
    onset_s = onset * STEP_S + rng.normal(0, 0.006, len(onset))
    return Take.from_notes(
        onset_s=onset_s, release_s=onset_s + length * STEP_S, pitch=pitch, velocity=np.full(len(onset), 62)
    )


def counts(reading: Reading) -> dict[str, float | None]:
    return {row.name: row.value for row in reading.findings if row.unit == "count" and row.name.startswith("notes_")}


@pytest.mark.parametrize("seed", range(3))
def test_ornaments_played_as_the_page_asks_are_no_slips(tmp_path: Path, seed: int) -> None:
    page(tmp_path / "signs.musicxml", SIGNS)
    target = read_target(tmp_path / "signs.musicxml")
    assert [mark.value for mark in target.marks if mark.kind == "ornament"] == [
        "mordent", "trill", "turn", "trill", "mordent",
    ]  # fmt: skip
    reading = look(played(seed, SIGNS), target)
    assert counts(reading) == {
        "notes_as_written": 24, "notes_other_pitch": 0, "notes_left_out": 0, "notes_extra": 0,
    }  # fmt: skip
    assert reading.following.confidence > 0.9
    assert (reading.following.pairs["kind"] == "ornament").sum() == 2 + 5 + 3 + 5 + 2
    assert reading.one("waits").value == reading.one("goings_back").value == 0
    assert reading.one("tempo").value == pytest.approx(90, rel=0.01)
    plain = look(played(seed, {}), target)
    assert counts(plain)["notes_as_written"] == 24
    assert reading.one("evenness_timing").value == pytest.approx(plain.one("evenness_timing").value, abs=2.0)


def test_what_the_page_does_not_ask_for_is_told_still(tmp_path: Path) -> None:
    page(tmp_path / "signs.musicxml", SIGNS)
    target = read_target(tmp_path / "signs.musicxml")
    assert counts(look(played(1, SIGNS, (7.4, 80), (13.5, key(TUNE[13]) + 1)), target))["notes_extra"] == 2
    page(tmp_path / "none.musicxml", {})
    assert counts(look(played(1, SIGNS), read_target(tmp_path / "none.musicxml")))["notes_extra"] > 8
