"""Each element of a page is counted exactly, on pages written down as text beside the expectation.

The expected figures were counted by hand from `fixtures.scores.tunes`; onsets come from `fixtures.scores.text`,
which uses nothing of keysense.
"""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from fixtures.scores.text import Score, notes_on_the_page
from fixtures.scores.tunes import ELEMENTS, TUNES
from fixtures.scores.writing import musicxml
from keysense.targets import read_target
from keysense.targets.target import Mark, Target, page_id
from tests.targets.pages import SCORES, read, target_from, target_of

COUNTS = {
    # name: notes, bars, marks
    "ties": (6, 4, {}),
    "slurs": (22, 4, {"slur": 8, "rest": 1}),
    "articulations": (19, 3, {"staccato": 8, "tenuto": 3, "accent": 3}),
    "dynamics": (14, 4, {"dynamic": 6}),
    "hairpins": (17, 4, {"crescendo": 2, "diminuendo": 1}),
    "fermatas": (11, 3, {"fermata": 4, "rest": 1}),
    "breaths": (15, 4, {"breath": 2}),
    "fingering": (11, 2, {}),
    "paces": (21, 6, {"ritardando": 2, "accelerando": 1, "tempo": 1}),
    "repeat": (19, 6, {}),
    "endings": (18, 5, {"slur": 2}),
    "two_repeats": (8, 8, {}),
    "three_times": (7, 7, {}),
    "da_capo": (6, 6, {}),
    "pick_up": (14, 5, {}),
    "grace_notes": (11, 2, {"slur": 1}),
    "two_parts": (8, 2, {"slur": 1, "dynamic": 1}),
    "two_on_a_bench": (51, 8, {"breath": 2}),
    "chords": (14, 2, {}),
    "spread_chords": (23, 2, {"spread": 4}),
    "tuplets": (11, 2, {}),
    "voices": (13, 2, {}),
    "time_change": (10, 4, {}),
    "rests": (12, 4, {"rest": 3}),
    "pedal": (7, 2, {"pedal": 2}),
    "accidentals": (7, 2, {}),
    "left_hand_alone": (5, 2, {}),
}
REPEATED = {"repeat", "endings", "two_repeats", "three_times", "da_capo"}


def marks(target: Target, kind: str) -> list[Mark]:
    return [mark for mark in target.marks if mark.kind == kind]


def test_every_element_page_has_its_count() -> None:
    assert set(COUNTS) == set(ELEMENTS)


@pytest.mark.parametrize("name", sorted(COUNTS))
def test_each_element_is_counted_exactly(name: str) -> None:
    target = read(name)
    n, bars, kinds = COUNTS[name]
    assert len(target.notes) == n
    assert len(target.bars) == bars
    assert Counter(mark.kind for mark in target.marks) == kinds
    assert len(set(target.notes["id"].tolist())) == n
    assert len({mark.id for mark in target.marks}) == len(target.marks)
    known = set(target.notes["id"].tolist())
    assert all(set(mark.note_ids) <= known for mark in target.marks)


@pytest.mark.parametrize("name", sorted({*ELEMENTS, *TUNES} - REPEATED - {"ties"}))
def test_notes_are_those_that_were_written(name: str) -> None:
    score = {**TUNES, **ELEMENTS}[name]
    target = read(name)
    shift = 1.0 if score.pick_up else 0.0
    left = 2 if len(score.staves) == 2 else (1 if score.clefs[0] == "F" else 0)
    written = Counter(
        (float(n.onset) - shift, float(n.length), n.pitch, n.bar, "L" if n.staff == left else "R")
        for n in notes_on_the_page(score)
    )
    rows = target.notes
    read_back = Counter(
        (float(r["onset_quarter"]), float(r["duration_quarter"]), int(r["pitch"]), int(r["bar"]), str(r["hand"]))
        for r in rows
    )
    assert {tuple(np.round(k[:2], 9)) + k[2:]: v for k, v in read_back.items()} == {
        tuple(np.round(k[:2], 9)) + k[2:]: v for k, v in written.items()
    }


def test_tied_notes_are_one_note_as_long_as_all_of_them() -> None:
    target = read("ties")
    lengths = dict(zip(target.notes["id"].tolist(), target.notes["duration_quarter"].tolist(), strict=True))
    assert lengths == {"r1-1": 6, "r2-2": 2, "r3-1": 8, "r3-1b": 8, "l1-1": 4, "l2-1": 12}


def test_a_tie_over_a_repeat_sign_is_struck_again() -> None:
    """A note tied into the second ending is one with it; into a bar played after a jump back it is not."""
    score = Score("Tie", ["{:} C4:4 | {1.} D4:4~ {:|} | {2.} E4:4 | C4:4"])
    target = target_of(score)
    assert target.notes["pitch"].tolist() == [60, 62, 60, 64, 60]


def test_repeats_are_unfolded_as_played_with_second_ids() -> None:
    assert read("repeat").bars["number"].tolist() == [1, 2, 3, 2, 3, 4]
    assert read("endings").bars["number"].tolist() == [1, 2, 1, 3, 4]
    assert read("two_repeats").bars["number"].tolist() == [1, 2, 1, 2, 3, 4, 3, 4]
    assert read("three_times").bars["number"].tolist() == [1, 2, 1, 2, 1, 3, 4]
    assert read("da_capo").bars["number"].tolist() == [1, 2, 3, 4, 1, 2]
    ids = read("three_times").notes["id"].tolist()
    assert ids == ["r1-1", "r2-1", "r1-1~2", "r2-1~2", "r1-1~3", "r3-1", "r4-1"]
    assert [page_id(i) for i in ids[2:4]] == ["r1-1", "r2-1"]


def test_repeats_can_be_left_out() -> None:
    target = read_target(SCORES / "repeat.musicxml", repeats=False)
    assert target.bars["number"].tolist() == [1, 2, 3, 4]


def test_a_slur_into_the_second_ending_is_played_from_the_second_time() -> None:
    first, second = marks(read("endings"), "slur")
    assert (first.start_quarter, first.end_quarter) == (0, 4)
    assert (second.start_quarter, second.end_quarter) == (8, 12)
    assert second.note_ids == ("r1-1~2", "r1-2~2", "r1-3~2", "r1-4~2", "r3-1")


def test_a_pick_up_is_bar_0_before_quarter_0() -> None:
    target = read("pick_up")
    assert target.bars["number"].tolist() == [0, 1, 2, 3, 4]
    assert target.bars["start_quarter"].tolist() == [-1, 0, 3, 6, 9]
    assert target.notes["onset_quarter"][0] == -1
    assert target.notes["bar"][0] == 0


def test_a_pick_up_that_the_file_numbers_1_is_still_bar_0() -> None:
    text = musicxml(ELEMENTS["pick_up"]).replace(' implicit="yes"', "")
    for number in (4, 3, 2, 1, 0):
        text = text.replace(f'<measure number="{number}"', f'<measure number="{number + 1}"')
    target = target_from(text)
    assert target.bars["number"].tolist() == [0, 1, 2, 3, 4]


def test_grace_notes_stand_before_their_note_and_last_nothing() -> None:
    target = read("grace_notes")
    graces = target.notes[target.notes["is_grace"]]
    assert graces["id"].tolist() == ["r1-g1", "r1-g2", "r1-g3", "l2-g1"]
    assert (graces["duration_quarter"] == 0).all()
    assert graces["onset_quarter"].tolist() == [0, 2, 2, 4]
    ids = target.notes["id"].tolist()
    assert ids.index("r1-g2") < ids.index("r1-g3") < ids.index("r1-3")
    assert marks(target, "slur")[0].note_ids == ("r1-g1", "r1-1")


def test_slurs_cover_the_notes_of_their_voice() -> None:
    by_notes = {mark.note_ids: mark for mark in marks(read("slurs"), "slur")}
    assert ("r1-1", "r1-2") in by_notes
    assert ("r1-3", "r1-4", "r2-1") in by_notes
    assert ("r2-1", "r2-2", "r2-3", "r2-4") in by_notes
    assert by_notes["l1-1", "l2-1"].hand == "L"
    long = by_notes["r3-1", "r3-2", "r3-3", "r3-4", "r4-1", "r4-2", "r4-3", "r4-4"]
    assert (long.start_quarter, long.end_quarter) == (8, 15)


def test_hairpins_span_from_where_they_open_to_where_they_close() -> None:
    spans = {(m.kind, m.hand): (m.start_quarter, m.end_quarter, len(m.note_ids)) for m in read("hairpins").marks}
    assert spans == {
        ("crescendo", ""): (0, 4, 5),  # between the staves, where the lower one has none: for both hands
        ("crescendo", "L"): (4, 12, 2),
        ("diminuendo", "R"): (4, 10, 6),
    }


def test_dynamics_last_until_the_next_of_their_hand_and_a_sudden_one_lasts_its_note() -> None:
    rows = [(m.hand, m.value, m.start_quarter, m.end_quarter) for m in marks(read("dynamics"), "dynamic")]
    assert rows == [
        ("", "p", 0, 4), ("R", "f", 4, 8), ("L", "mp", 4, 16), ("R", "sfz", 6, 7), ("R", "mf", 8, 12),
        ("R", "pp", 12, 16),
    ]  # fmt: skip


def test_one_articulation_mark_a_chord() -> None:
    staccato = [m.note_ids for m in marks(read("articulations"), "staccato")]
    assert ("r2-1", "r2-1b") in staccato
    assert ("l3-1", "l3-1b") in staccato


def test_a_spread_chord_is_one_mark_with_the_way_of_its_arrow() -> None:
    text = (SCORES / "spread_chords.musicxml").read_text("utf-8")
    spread = marks(target_from(text.replace("<arpeggiate/>", '<arpeggiate direction="down"/>', 1)), "spread")
    assert [(m.value, m.hand, m.start_quarter, len(m.note_ids)) for m in spread] == [
        ("down", "R", 0, 3), ("", "L", 0, 2), ("", "R", 2, 3), ("", "R", 6, 4),
    ]  # fmt: skip


def test_breaths_are_where_the_note_before_ends_and_end_phrases() -> None:
    target = read("breaths")
    breaths = [(m.start_quarter, m.end_quarter, m.note_ids) for m in marks(target, "breath")]
    assert breaths == [(7, 7, ("r2-1",)), (16, 16, ("r4-1",))]
    assert target.phrases.tolist() == [[0, 7], [7, 16]]


def test_fingers_are_read_one_a_note() -> None:
    target = read("fingering")
    fingers = dict(zip(target.notes["id"].tolist(), target.notes["finger"].tolist(), strict=True))
    assert fingers == {
        "r1-1": 1, "r1-2": 2, "r1-3": 3, "r1-4": 5, "r2-1": 1, "r2-1b": 3, "r2-1c": 5,
        "l1-1": 5, "l1-2": 1, "l2-1": 5, "l2-1b": 1,
    }  # fmt: skip


def test_tempo_and_the_words_that_bend_it() -> None:
    target = read("paces")
    assert target.tempo_qpm == 96
    rows = [(m.kind, m.value, m.start_quarter, m.end_quarter) for m in target.marks]
    assert rows == [
        ("ritardando", "rit.", 4, 8), ("tempo", "120", 12, 24), ("accelerando", "accel.", 16, 20),
        ("ritardando", "poco rall.", 20, 24),
    ]  # fmt: skip


@pytest.mark.parametrize(("first", "later", "qpm", "marks"), [
    ('<sound tempo="90"/>', "60", 90, [(4, "60")]),  # before the first mark the hint is all there is
    ('<sound tempo="90"/><direction><direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>80'
     '</per-minute></metronome></direction-type></direction>', "60", 80, [(4, "60")]),
    ("", "60", 60, [(4, "60")]),  # what was played before it has no tempo of its own
])  # fmt: skip
def test_a_first_tempo_in_mid_piece_begins_a_section(
    first: str, later: str, qpm: float, marks: list[tuple[float, str]]
) -> None:
    note = "<note><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration></note>"
    target = target_from(
        '<score-partwise><part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list>'
        f'<part id="P1"><measure number="1"><attributes><divisions>1</divisions></attributes>{first}{note}</measure>'
        '<measure number="2"><direction><direction-type><metronome><beat-unit>quarter</beat-unit>'
        f"<per-minute>{later}</per-minute></metronome></direction-type></direction>{note}</measure></part>"
        "</score-partwise>"
    )
    assert target.tempo_qpm == qpm
    assert [(m.start_quarter, m.value) for m in target.marks if m.kind == "tempo"] == marks


def test_hands_by_staff_by_part_and_by_clef() -> None:
    assert read("two_parts").hands == ("R", "L")
    assert read("left_hand_alone").hands == ("L",)
    assert read("snail_at_the_gate").hands == ("R",)
    assert read("millers_cat").hands == ("R", "L")


def test_silences_of_a_hand_are_rests() -> None:
    rows = [(m.hand, m.start_quarter, m.end_quarter) for m in marks(read("rests"), "rest")]
    assert rows == [("L", 4, 8), ("R", 6, 8), ("R", 9, 10)]


def test_phrases_come_from_breaths_from_slurs_or_not_at_all() -> None:
    assert read("millers_cat").phrases.tolist() == [[0, 16], [16, 32]]
    assert read("slurs").phrases.tolist() == [[0, 8], [8, 16]]
    assert read("three_doors_1").phrases.shape == (0, 2)


@pytest.mark.parametrize(
    ("bars", "ends"),
    [
        (["C4( D4 E4 F4)", "G4( F4 E4 D4)", "E4( F4 G4 E4)", "D4( E4 F4 D4)"], []),  # a slur over each bar joins notes
        (["C4:1/2( D4:1/2 E4:1/2 F4:1/2 G4:1/2 F4:1/2 E4:1/2 D4:1/2)"] * 4, []),
        (["C4( D4 E4 F4", "G4 F4 E4 D4)", "E4( F4 G4 E4", "D4 E4 C4:2)"], [8, 16]),
    ],
)
def test_a_slur_is_a_phrase_from_about_two_bars_on(bars: list[str], ends: list[float]) -> None:
    page = target_of(Score("Slurred", [" | ".join(bars)]))
    assert page.phrases[:, 1].tolist() == ends
