"""The demo goes the real way: into the journal, through following and findings, into a studio soon gone."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from fixtures.scores.tunes import TUNES
from fixtures.scores.writing import musicxml
from keysense.demo import room, story
from keysense.demo.day import Day
from keysense.demo.performer import Playing, perform
from keysense.messages import normalise

PROGRAM = Path(sys.executable).with_name("keysense")
SCORES = Path(room.__file__).with_name("scores")


def test_it_says_in_plain_words_what_was_heard_and_leaves_nothing(tmp_path: Path) -> None:
    run = subprocess.run(
        [PROGRAM, "demo", "--no-serve"], cwd=tmp_path, capture_output=True, text=True,
        env={"PATH": "", "TMPDIR": str(tmp_path), "KEYSENSE_STUDIO": str(tmp_path / "own"), "HOME": str(tmp_path)},
    )  # fmt: skip
    assert (run.returncode, run.stderr) == (0, "")
    assert list(tmp_path.iterdir()) == []
    told = run.stdout
    assert "Over the weeks: more even." in told
    assert "Pace (asked and heard)" in told
    assert "Loudness (asked and heard)" in told
    assert "Touch (asked and heard)" in told
    assert "Bars 5 and 6, right hand: grew" in told
    assert "The tune waited 2 times: bar 2, right hand; bar 4, right hand." in told
    assert "The piano went away while it lasted" in told


def test_the_same_seed_plays_the_same_bytes() -> None:
    target = room.score("millers_cat")
    assert perform(target, story.TODAY[0].playing, 5) == perform(target, story.TODAY[0].playing, 5)
    assert perform(target, story.TODAY[0].playing, 5) != perform(target, story.TODAY[0].playing, 6)


def test_what_a_playing_says_is_what_the_keys_do() -> None:
    target = room.score("millers_cat")
    still = Playing(60, [(0, 50), (32, 82)], hold=0.5, unsteady=0.0, touch_spread=0.0, left_out=[3], other={5: 70})
    notes = normalise(perform(target, still, 1)).notes
    assert len(notes) == len(target.notes) - 1
    assert 70 in notes["pitch"]
    assert notes["onset_s"][-1] == pytest.approx(target.notes["onset_quarter"][-1], abs=0.02)
    assert np.median((notes["release_s"] - notes["onset_s"])[:4]) == pytest.approx(0.5, abs=0.4)
    assert int(notes["velocity"][0]) in (42, 50)


def test_a_key_comes_up_before_it_goes_down_again() -> None:
    held = Playing(60, [(0, 60), (8, 60)], hold=1.5, unsteady=0.0)
    take = normalise(perform(room.score("snail_at_the_gate"), held, 2))
    assert "repeated_note_on" not in take.meta.flags


def test_the_demos_scores_are_those_of_the_fixtures() -> None:
    for path in SCORES.glob("*.musicxml"):
        assert path.read_text("utf-8") == musicxml(TUNES[path.stem]), path.name


def test_a_day_is_a_journal_that_the_listener_could_have_written() -> None:
    from keysense.capture.cutting import cut
    from keysense.capture.journal import read_journal

    with tempfile.TemporaryDirectory() as folder:
        day = Day(Path(folder), datetime(2026, 3, 2, 9, 0, tzinfo=UTC))
        messages = perform(room.score("snail_at_the_gate"), Playing(72, [(0, 60), (8, 60)]), 1)
        day.play(messages)
        day.play(messages, cable_out_s=3.0)
        journal = read_journal(day.path)
        spans = cut(journal.records)
    assert not journal.torn
    assert spans[0].n == 8
    assert 2 <= spans[1].n < 8
    assert spans[1].flags == ("cut",)
    began = datetime(2026, 3, 2, 9, 0, tzinfo=UTC).timestamp()
    assert spans[0].wall_ns / 1e9 == pytest.approx(began, abs=0.05)
