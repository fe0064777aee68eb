"""Every notehead is found by its id, lines break where they should, and pictures never share a name."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fixtures.scores.text import Score, notes_on_the_page
from fixtures.scores.tunes import ELEMENTS, TUNES
from fixtures.scores.writing import musicxml
from keysense.engraving import Engraving, engrave
from keysense.engraving.lines import broken_into_lines
from keysense.errors import TargetError
from keysense.targets import read_target
from keysense.targets.target import Source, Target, page_id

SCORES = Path(__file__).resolve().parents[2] / "fixtures" / "scores"


def read(name: str) -> Target:
    return read_target(SCORES / f"{name}.musicxml")


def ids_in(engraving: Engraving) -> list[str]:
    return [id_ for system in engraving.systems for id_ in re.findall(r'(?<!-)\bid="([^"]+)"', system.svg)]


@pytest.mark.parametrize("width", [700, 900, 1440, 2200])
@pytest.mark.parametrize("name", sorted({*ELEMENTS, *TUNES}))
def test_each_notehead_stands_on_one_line(name: str, width: int) -> None:
    target = read(name)
    engraving = engrave(target, width=width)
    places = [id_ for system in engraving.systems for id_ in system.note_x]
    heads = len(notes_on_the_page({**TUNES, **ELEMENTS}[name]))
    assert len(places) == len(set(places)) == heads
    assert {page_id(id_) for id_ in target.notes["id"].tolist()} <= set(places)
    for system in engraving.systems:
        assert system.note_x.keys() == system.note_y.keys()
        assert system.width == width
        assert all(system.left < x < system.bar_lines[-1] <= width for x in system.note_x.values())
        assert all(0 < y < system.height for y in system.note_y.values())
        assert list(system.bar_lines) == sorted(system.bar_lines)
        assert len(system.bar_lines) == len(system.bars)


def test_noteheads_lie_in_the_order_of_time_and_inside_their_bar() -> None:
    target = read("millers_cat")
    for system in engrave(target, width=1440).systems:
        for hand in "RL":
            rows = [r for r in target.notes if r["hand"] == hand and str(r["id"]) in system.note_x]
            xs = [system.note_x[str(r["id"])] for r in rows if not str(r["id"]).endswith("b")]
            assert xs == sorted(xs)
        edges = [system.left, *system.bar_lines]
        for row in target.notes:
            if str(row["id"]) in system.note_x:
                k = system.bars.index(int(row["bar"]))
                assert edges[k] < system.note_x[str(row["id"])] < edges[k + 1]


def test_notes_of_one_moment_stand_under_each_other() -> None:
    system = engrave(read("millers_cat"), width=1440).systems[0]
    assert system.note_x["r1-1"] == pytest.approx(system.note_x["l1-1"], abs=8)
    assert system.note_y["r1-1"] < system.note_y["l1-1"]
    assert system.note_y["r1-3"] < system.note_y["r1-1"]


def test_lines_are_chosen_by_width_and_a_pick_up_shares_the_first() -> None:
    cat = read("millers_cat")
    assert [s.bars for s in engrave(cat, width=900).systems] == [(1, 2), (3, 4), (5, 6), (7, 8)]
    assert [(s.first_bar, s.last_bar) for s in engrave(cat, width=1440).systems] == [(1, 4), (5, 8)]
    assert [s.bars for s in engrave(cat, width=1440, bars_a_line=3).systems] == [(1, 2, 3), (4, 5, 6), (7, 8)]
    assert engrave(read("pick_up"), width=900).systems[0].bars == (0, 1, 2)
    assert [len(s.bars) for s in engrave(read("three_doors_2"), width=1440).systems] == [3, 2]


def test_crowded_bars_get_more_room() -> None:
    dense = Score("Dense", [" | ".join([" ".join(["C4:1/4"] * 16)] * 4)])
    _, lines = broken_into_lines(musicxml(dense), None, 1440)
    assert [len(line) for line in lines] == [1, 1, 1, 1]


def test_pictures_share_no_id_and_the_ink_is_the_page_s() -> None:
    both = [engrave(read("millers_cat"), width=900), engrave(read("millers_cat"), width=1440), engrave(read("slurs"))]
    ids = [id_ for engraving in both for id_ in ids_in(engraving)]
    assert len(ids) == len(set(ids))
    for engraving in both:
        for system in engraving.systems:
            root = ElementTree.fromstring(system.svg)
            assert [e.tag for e in root.iter() if e.tag.endswith("}svg")] == ["{http://www.w3.org/2000/svg}svg"]
            assert "var(--music,#000)" in root.get("style", "")
            assert "black" not in system.svg
            assert "<style" not in system.svg
            assert "font-face" not in system.svg
            assert {e.get("data-note") for e in root.iter() if e.get("data-note")} == set(system.note_x)
            hrefs = [e.get("href", "")[1:] for e in root.iter() if e.tag.endswith("}use")]
            assert hrefs
            assert set(hrefs) <= {e.get("id") for e in root.iter()}
            assert all(f'id="{system.prefix}{note}"' in system.svg for note in system.note_x)


def test_the_same_page_is_engraved_once_and_always_the_same() -> None:
    assert engrave(read("ties"), width=1000) is engrave(read("ties"), width=1000)


def test_no_title_and_no_part_name_on_the_page() -> None:
    svg = "".join(s.svg for s in engrave(read("millers_cat")).systems)
    assert "Miller" not in svg
    assert "Piano" not in svg
    assert "96" in svg


def test_of_which_line_is_a_note() -> None:
    engraving = engrave(read("millers_cat"), width=1440)
    assert engraving.system_of("r6-2") is engraving.systems[1]
    assert engraving.system_of("nowhere") is None


def test_what_has_no_page_says_so() -> None:
    bare = Target.from_notes(onset_quarter=[0, 1], duration_quarter=[1, 1], pitch=[60, 62])
    with pytest.raises(TargetError, match="no page"):
        engrave(bare)


@pytest.mark.parametrize("text", ["<score-partwise", "<score-partwise/>", "hello"])
def test_a_page_that_cannot_be_engraved_says_so(text: str) -> None:
    kept = Target.from_notes(
        onset_quarter=[0], duration_quarter=[1], pitch=[60], source=Source("score", "Odd", "odd.musicxml", text)
    )
    with pytest.raises(TargetError, match="Odd"):
        engrave(kept)


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(sorted(ELEMENTS)),
    st.integers(0, 10**6),
    st.sampled_from(["take out", "double"]),
    st.integers(1, 3000),
)
def test_any_changed_page_that_is_read_is_engraved_or_refused(name: str, where: int, what: str, width: int) -> None:
    import tempfile

    root = ElementTree.fromstring(musicxml(ELEMENTS[name]))
    rows = [(parent, child) for parent in root.iter() for child in parent]
    parent, child = rows[where % len(rows)]
    parent.remove(child) if what == "take out" else parent.append(child)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "a.musicxml"
        path.write_bytes(ElementTree.tostring(root))
        try:
            target = read_target(path)
            engraving = engrave(target, width=width)
        except TargetError as refusal:
            assert "\n" not in str(refusal)
            return
    places = {id_ for system in engraving.systems for id_ in system.note_x}
    assert {page_id(id_) for id_ in target.notes["id"].tolist()} <= places
