"""MusicXML files as they come: compressed, timewise, in odd units, with ids of their own, and our own pages.

Nothing of keysense is used where pages are written (`fixtures.scores`).
"""

from __future__ import annotations

from pathlib import Path

import pytest

from fixtures.scores.make import compressed
from fixtures.scores.tunes import TUNES
from fixtures.scores.writing import musicxml
from keysense.errors import TargetError
from keysense.targets import read_target
from keysense.targets.target import Target
from tests.targets.pages import SCORES, read, target_from


def test_a_compressed_score_reads_like_the_plain_one() -> None:
    plain, packed = read("snail_at_the_gate"), read_target(SCORES / "snail_at_the_gate.mxl")
    assert (plain.notes == packed.notes).all()
    assert packed.source.title == "Snail at the Gate"


def test_ids_of_the_file_are_kept_and_double_ones_replaced(tmp_path: Path) -> None:
    text = musicxml(TUNES["snail_at_the_gate"])
    text = text.replace("<note>", '<note id="first">', 1).replace("<note>", '<note id="first">', 1)
    target = target_from(text)
    assert target.notes["id"].tolist()[:3] == ["first", "r1-2", "r1-3"]
    assert 'id="first"' in target.source.musicxml


def test_ids_stay_the_same_when_the_page_is_read_again(tmp_path: Path) -> None:
    once = read("voices")
    (tmp_path / "again.musicxml").write_text(once.source.musicxml, "utf-8")
    again = read_target(tmp_path / "again.musicxml")
    assert (once.notes == again.notes).all()
    assert once.marks == again.marks


def test_lengths_given_in_odd_units_are_read_exactly(tmp_path: Path) -> None:
    text = musicxml(TUNES["snail_at_the_gate"])
    text = text.replace("<divisions>12</divisions>", "<divisions>1.0</divisions>")
    text = text.replace("<duration>12</duration>", "<duration>1.0</duration>")
    target = target_from(text)
    assert target.notes["onset_quarter"].tolist() == list(range(8))


def test_a_timewise_score_is_the_same_music() -> None:
    text = musicxml(TUNES["snail_at_the_gate"])
    bars = text.split("<measure ")[1:]
    inside = []
    for bar in bars:
        head, _, rest = bar.partition(">")
        body = rest.partition("</measure>")[0]
        inside.append(f'<measure {head}><part id="P1">{body}</part></measure>')
    before = text.partition('<part id="P1">')[0].partition("<score-partwise")[2].partition(">")[2]
    timewise = f'<?xml version="1.0"?><score-timewise>{before}{"".join(inside)}</score-timewise>'
    assert (target_from(timewise).notes == read("snail_at_the_gate").notes).all()


def test_cue_notes_and_hidden_notes_are_not_asked_for() -> None:
    text = musicxml(TUNES["snail_at_the_gate"])
    text = text.replace("<note><pitch>", "<note><cue/><pitch>", 1).replace(
        "<note><pitch>", '<note print-object="no"><pitch>', 1
    )
    assert target_from(text).notes["id"].tolist() == ["r1-1", "r1-2", *(f"r2-{k}" for k in range(1, 5))]


def test_of_a_song_the_piano_is_read_and_a_named_part_may_be_chosen(tmp_path: Path) -> None:
    piano = musicxml(TUNES["millers_cat"]).replace("P1", "P2")
    voice = musicxml(TUNES["snail_at_the_gate"]).replace("Piano", "Voice")
    part = '<part id="P1">' + voice.partition('<part id="P1">')[2].partition("</part>")[0] + "</part>"
    listed = '<score-part id="P1"><part-name>Voice</part-name></score-part>'
    song = piano.replace("<part-list>", f"<part-list>{listed}").replace('<part id="P2">', f'{part}<part id="P2">')
    path = tmp_path / "song.musicxml"
    path.write_text(song, "utf-8")
    assert read_target(path).hands == ("R", "L")
    assert len(read_target(path, part="voice").notes) == 8
    with pytest.raises(TargetError, match="Voice, Piano"):
        read_target(path, part="Flute")


def test_a_target_survives_its_json() -> None:
    target = read("millers_cat_marked")
    again = Target.from_json(target.to_json())
    assert (again.notes == target.notes).all()
    assert again.marks == target.marks


def test_the_fixture_files_are_what_the_text_says() -> None:
    from fixtures.scores.make import files

    for name, data in files().items():
        assert (SCORES / name).read_bytes() == data, f"{name}: run python -m fixtures.scores.make"
    assert compressed("x") == compressed("x")


def test_the_demo_carries_the_same_scores() -> None:
    carried = sorted((SCORES.parents[1] / "keysense" / "demo" / "scores").glob("*.musicxml"))
    assert carried
    for path in carried:
        assert path.read_bytes() == (SCORES / path.name).read_bytes(), f"copy fixtures/scores/{path.name} anew"
