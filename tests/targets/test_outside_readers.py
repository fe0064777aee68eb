"""The same pages read by two other readers: partitura by itself, and verovio's own time map.

Sources: partitura 1.7 or later (note_array, unfold_part_maximal), verovio 6.4 or later (renderToTimemap, which unfolds
repeats, endings and da capo by itself). Neither takes part in unfolding or in counting quarters here.
"""

from __future__ import annotations

import io
import json
import warnings
from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import verovio

from fixtures.scores.tunes import ELEMENTS, TUNES
from keysense.targets import read_target
from keysense.targets.target import Target

SCORES = Path(__file__).resolve().parents[2] / "fixtures" / "scores"
EVERY = sorted({*ELEMENTS, *TUNES})
# partitura 1.9 does not follow da capo in MusicXML, and plays endings numbered "1,2" once.
PARTITURA_UNFOLDS = sorted(set(EVERY) - {"da_capo", "three_times"})


def _partitura_rows(name: str) -> Counter[tuple[float, float, int]]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import partitura

        score = partitura.load_musicxml(str(SCORES / f"{name}.musicxml"))
        rows: Counter[tuple[float, float, int]] = Counter()
        for part in score.parts:
            notes = partitura.score.unfold_part_maximal(part).note_array()
            rows.update(
                (round(float(n["onset_quarter"]), 3), round(float(n["duration_quarter"]), 3), int(n["pitch"]))
                for n in notes
            )
    return rows


@pytest.mark.parametrize("name", PARTITURA_UNFOLDS)
def test_partitura_counts_and_places_the_same_notes(name: str) -> None:
    target = read_target(SCORES / f"{name}.musicxml")
    ours = Counter(
        (round(float(r["onset_quarter"]), 3), round(float(r["duration_quarter"]), 3), int(r["pitch"]))
        for r in target.notes
    )
    assert ours == _partitura_rows(name)


def _verovio_onsets(text: str) -> list[tuple[str, float]]:
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions({"xmlIdSeed": 7})
    assert toolkit.loadData(text)
    rows: Any = toolkit.renderToTimemap()
    rows = json.loads(rows) if isinstance(rows, str) else rows
    return [(id_.replace("-rend", "~"), float(row["qstamp"])) for row in rows for id_ in row.get("on", [])]


@pytest.mark.parametrize("name", EVERY)
def test_verovio_strikes_the_same_notes_at_the_same_quarters(name: str) -> None:
    target = read_target(SCORES / f"{name}.musicxml")
    begin = float(target.bars["start_quarter"][0])
    timed = target.notes[~target.notes["is_grace"]]
    # A note that has grace notes waits for them in verovio's map.
    main = {(o, h) for o, h in zip(*_columns(target.notes[target.notes["is_grace"]]), strict=True)}
    ours = {
        str(r["id"]): float(r["onset_quarter"]) - begin
        for r in timed
        if (float(r["onset_quarter"]), str(r["hand"])) not in main and str(r["id"]) not in _spread(target)
    }
    theirs = dict(_verovio_onsets(target.source.musicxml))
    assert {id_: theirs.get(id_) for id_ in ours} == pytest.approx(ours, abs=1e-6)
    struck_again = set(theirs) - set(target.notes["id"].tolist())
    assert struck_again <= _tied_heads(target)


def test_verovio_spreads_the_same_chords_from_below() -> None:
    """It plays them spread, each note within half a quarter of the written time; those of both hands as one."""
    target = read_target(SCORES / "spread_chords.musicxml")
    theirs = dict(_verovio_onsets(target.source.musicxml))
    notes = target.notes[[str(id_) in _spread(target) for id_ in target.notes["id"]]]
    assert len(notes) == len(_spread(target)) > 8
    for onset in np.unique(notes["onset_quarter"]).tolist():
        chord = np.sort(notes[notes["onset_quarter"] == onset], order="pitch")
        struck = [theirs[id_] for id_ in chord["id"].tolist()]
        assert struck == sorted(set(struck)), onset
        assert struck[0] - onset == pytest.approx(0, abs=1e-6)
        assert struck[-1] - onset < 0.5


def _spread(target: Target) -> set[str]:
    """The notes of chords that are to be spread, which verovio plays so."""
    return {id_ for mark in target.marks if mark.kind == "spread" for id_ in mark.note_ids}


def _columns(rows: np.ndarray) -> tuple[list[float], list[str]]:
    return rows["onset_quarter"].tolist(), rows["hand"].tolist()


def _tied_heads(target: Target) -> set[str]:
    """Heads that go on with a tie: in the text, not in the notes."""
    import defusedxml.ElementTree as SafeTree

    root = SafeTree.parse(io.BytesIO(target.source.musicxml.encode()))
    return {n.get("id") for n in root.iter("note") if any(t.get("type") == "stop" for t in n.findall("tie"))}
