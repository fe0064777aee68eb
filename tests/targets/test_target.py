"""A target keeps every row it is given and comes back equal from where it was kept."""

from __future__ import annotations

import json

import numpy as np
import pytest

from keysense.errors import TargetError
from keysense.targets.target import Mark, Target, page_id


def small() -> Target:
    return Target.from_notes(
        onset_quarter=[1, 0, 0, -1],
        duration_quarter=[1, 0, 1, 1],
        pitch=[62, 60, 60, 55],
        hand=["R", "L", None, "R"],
        bar=[1, 1, 1, 0],
        id=["d", "b", "c", "a"],
        bars_quarter=[-1, 0, 4],
        is_grace=[False, True, False, False],
        phrases=[[0, 4]],
        marks=[
            Mark("slur", 0, 1, "s1", "R", note_ids=("c", "d"), layer="sleepy"),
            Mark("dynamic", 0, 4, "d1", value="p"),
        ],
        tempo_qpm=90,
    )


def test_rows_are_sorted_stably_by_onset_alone_and_unisons_stay() -> None:
    assert small().notes["id"].tolist() == ["a", "b", "c", "d"]
    assert small().notes["hand"].tolist() == ["R", "L", "", "R"]
    assert small().hands == ("R", "L")


def test_it_comes_back_equal() -> None:
    target = small()
    again = Target.from_json(json.loads(json.dumps(target.to_json(), allow_nan=False)))
    assert np.array_equal(again.notes, target.notes)
    assert np.array_equal(again.bars, target.bars)
    assert np.array_equal(again.phrases, target.phrases)
    assert (again.marks, again.tempo_qpm, again.source) == (target.marks, target.tempo_qpm, target.source)


def test_a_character_asks_for_the_page_and_its_own_layer() -> None:
    assert [mark.id for mark in small().marks_asked()] == ["d1"]
    assert [mark.id for mark in small().marks_asked("sleepy")] == ["s1", "d1"]


def test_bars_are_counted_where_none_are_given() -> None:
    target = Target.from_notes(onset_quarter=[0, 3.5, 4, 9], duration_quarter=[1] * 4, pitch=[60] * 4)
    assert target.notes["bar"].tolist() == [1, 1, 2, 3]
    assert target.end_quarter == 10


@pytest.mark.parametrize(
    "columns",
    [
        {"onset_quarter": [np.nan], "duration_quarter": [1], "pitch": [60]},
        {"onset_quarter": [0], "duration_quarter": [1, 2], "pitch": [60]},
        {"onset_quarter": [0], "duration_quarter": [1], "pitch": [200]},
        {"onset_quarter": [0], "duration_quarter": [1], "pitch": [60], "hand": []},
        {"onset_quarter": [0], "duration_quarter": [-1], "pitch": [60]},
    ],
)
def test_what_cannot_be_is_refused(columns: dict[str, list[float]]) -> None:
    with pytest.raises(TargetError):
        Target.from_notes(**columns)  # type: ignore[arg-type]


def test_both_playings_of_a_repeat_share_a_notehead() -> None:
    assert page_id("n12~2") == page_id("n12") == "n12"


def test_bars_named_for_each_note_start_at_their_first_note() -> None:
    onset = np.arange(9.0)
    target = Target.from_notes(onset_quarter=onset, duration_quarter=np.ones(9), pitch=[60] * 9, bar=onset // 3 + 1)
    assert target.bars["number"].tolist() == [1, 2, 3]
    assert target.bars["start_quarter"].tolist() == [0, 3, 6]
    assert target.bars["length_quarter"].tolist() == [3, 3, 3]


@pytest.mark.parametrize(
    "more",
    [
        {"hand": ["left"]},
        {"bar": [np.nan]},
        {"is_grace": ["False"]},
        *({"tempo_qpm": tempo} for tempo in (-60, np.nan, "90")),
        *({"phrases": phrases} for phrases in ([1, 2, 3], [("a", "b")], [(16, 0)], [(16, 16)])),
    ],
)
def test_what_is_no_hand_bar_pace_or_phrase_is_refused(more: dict[str, object]) -> None:
    with pytest.raises(TargetError):
        Target.from_notes(onset_quarter=[0], duration_quarter=[1], pitch=[60], **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "mark", [("wobble", 0, 4, "w"), ("slur", 0, 4, "s", "X"), ("crescendo", np.nan, 8, "c"), ("slur", 40, 30, "s")]
)
def test_a_mark_that_no_finding_would_ask_about_is_refused(mark: tuple[object, ...]) -> None:
    with pytest.raises(TargetError):
        Mark(*mark)  # type: ignore[arg-type]
