"""Whatever is brought as a score, it becomes a target or one clear line; never anything else, and nothing hangs."""

from __future__ import annotations

import io
import random
import tempfile
import zipfile
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fixtures.scores.make import compressed
from fixtures.scores.tunes import ELEMENTS, TUNES
from fixtures.scores.writing import musicxml
from keysense.errors import TargetError
from keysense.targets import read_target

SNAIL = musicxml(TUNES["snail_at_the_gate"])
BOMB = (
    '<?xml version="1.0"?><!DOCTYPE score-partwise [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">'
    '<!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;">]><score-partwise><part-list/><part id="P1">&c;</part></score-partwise>'
)
OUTSIDE = (
    '<?xml version="1.0"?><!DOCTYPE score-partwise [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
    "<score-partwise>&x;</score-partwise>"
)


def with_bar_two(notes: str) -> str:
    """Two bars of C4 E4 G4 E4, of which the second is a sign for the first, with or without its notes."""
    tune = "".join(
        f"<note><pitch><step>{step}</step><octave>4</octave></pitch><duration>1</duration></note>" for step in "CEGE"
    )
    return (
        '<score-partwise><part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list>'
        f'<part id="P1"><measure number="1"><attributes><divisions>1</divisions></attributes>{tune}</measure>'
        '<measure number="2"><attributes><measure-style><measure-repeat type="start">1</measure-repeat>'
        f"</measure-style></attributes>{tune if notes else '<note><rest/><duration>4</duration></note>'}</measure>"
        '<measure number="3"><attributes><measure-style><measure-repeat type="stop"/></measure-style></attributes>'
        f"{tune}</measure></part></score-partwise>"
    )


def test_a_sign_for_the_bar_before_is_no_silence(tmp_path: Path) -> None:
    assert "write its notes out" in refused(with_bar_two("").encode())
    page = tmp_path / "page.musicxml"
    page.write_text(with_bar_two("written out"))
    assert len(read_target(page).notes) == 12


def refused(data: bytes, name: str = "page.musicxml", **options: object) -> str:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_bytes(data)
        with pytest.raises(TargetError) as caught:
            read_target(path, **options)  # type: ignore[arg-type]
    message = str(caught.value)
    assert "\n" not in message
    assert name in message
    return message


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "empty"),
        (b"  \n ", "empty"),
        (b"C4 E4 G4, with feeling", "not readable"),
        (SNAIL.encode()[: len(SNAIL) // 2], "not readable"),
        (BOMB.encode(), "entities"),
        (OUTSIDE.encode(), "entities"),
        (b"<html><body>page not found</body></html>", "not MusicXML"),
        (b'<?xml version="1.0"?><score-partwise/>', "no bars"),
        (b'<?xml version="1.0" encoding="never-heard-of"?><score-partwise/>', "not readable"),
        (random.Random(3).randbytes(3_000_000), "not readable"),
        (b"PK\x03\x04 and then nothing of the kind", "damaged"),
        (b"\xff\xfe\x00", "not readable"),
    ],
    ids=["empty", "blank", "text", "cut", "bomb", "outside", "html", "bare", "encoding", "noise", "zip", "bom"],
)
def test_what_is_no_score_is_refused_in_one_line(data: bytes, says: str) -> None:
    assert says in refused(data)


@pytest.mark.parametrize(
    ("before", "after", "says"),
    [
        ("<octave>4</octave>", "<octave>many</octave>", "bar 1"),
        ("<octave>4</octave>", "<octave>44</octave>", "beyond any keyboard"),
        ("<step>E</step>", "<step>H</step>", "pitch"),
        ("<step>E</step>", "<step>E</step><alter>0.5</alter>", "between two keys"),
        ("<duration>12</duration>", "", "no length"),
        ("<duration>12</duration>", "<duration>-3</duration>", "bar 1"),
        ("<duration>12</duration>", "<duration>1e400000</duration>", "bar 1"),
        ("<divisions>12</divisions>", "<divisions>0</divisions>", "unit of length"),
        ("<beat-type>4</beat-type>", "<beat-type>0</beat-type>", "time signature"),
        ("<beat-type>4</beat-type>", "", "time signature"),
        ("<beats>4</beats>", "<beats>four</beats>", "time signature"),
        ("<voice>1</voice>", f"<voice>1</voice><staff>{'9' * 30}</staff>", "staff that is not there"),
    ],
)
def test_what_is_amiss_in_a_bar_is_named_with_the_bar(before: str, after: str, says: str) -> None:
    message = refused(SNAIL.replace(before, after, 1).encode())
    assert says in message
    assert "bar 1" in message


def test_a_bar_that_partitura_cannot_read_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """A tuplet without its type: partitura raises, and the message must still lead to bar 2."""
    text = SNAIL.replace('<measure number="2">', '<measure number="2"><note><rest/></note>', 1)
    assert "bar 2" in refused(text.encode())
    broken = SNAIL.rpartition("<type>quarter</type>")
    text = broken[0] + "<type>quarter</type><notations><tuplet/></notations>" + broken[2]
    assert "bar 2" in refused(text.encode())


def test_a_repeat_inside_a_bar_is_refused_by_name() -> None:
    middle = '<barline location="middle"><repeat direction="backward"/></barline></measure>'
    assert "split the bar" in refused(SNAIL.replace("</measure>", middle, 1).encode())


def test_too_many_parts_are_listed() -> None:
    part = '<part id="P{n}">' + SNAIL.partition('<part id="P1">')[2].partition("</part>")[0] + "</part>"
    listed = "".join(f'<score-part id="P{n}"><part-name>Voice {n}</part-name></score-part>' for n in (1, 2, 3))
    parts = "".join(part.replace("{n}", str(n)) for n in (1, 2, 3))
    text = f'<score-partwise version="4.0"><part-list>{listed}</part-list>{parts}</score-partwise>'
    assert "Voice 1, Voice 2, Voice 3" in refused(text.encode())


def test_only_rests_are_no_tune() -> None:
    text = '<score-partwise><part-list/><part id="P1"><measure number="1"><note><rest/><duration>4</duration></note>'
    assert "no notes" in refused((text + "</measure></part></score-partwise>").encode())


def test_an_archive_that_swells_is_refused() -> None:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(
            "META-INF/container.xml", '<container><rootfiles><rootfile full-path="s.xml"/></rootfiles></container>'
        )
        archive.writestr("s.xml", b" " * (70 * 1024 * 1024))
    assert len(buffer.getvalue()) < 200_000
    assert "64 MB" in refused(buffer.getvalue(), "page.mxl")


def test_deep_nesting_is_refused() -> None:
    text = "<score-partwise><part><measure>" + "<a>" * 20_000 + "</a>" * 20_000 + "</measure></part></score-partwise>"
    refused(text.encode())


def test_other_files_and_missing_ones() -> None:
    assert "neither MusicXML nor MIDI" in refused(b"%PDF", "page.pdf")
    with pytest.raises(TargetError, match="cannot be opened"):
        read_target("/no/such/page.musicxml")


def target_or_one_line(data: bytes, name: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_bytes(data)
        try:
            target = read_target(path)
        except TargetError as refusal:
            assert "\n" not in str(refusal)
            assert name in str(refusal)
        else:
            assert len(target.notes)


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=400), st.sampled_from(["a.musicxml", "a.xml", "a.mxl", "a.mid"]))
def test_any_bytes(data: bytes, name: str) -> None:
    target_or_one_line(data, name)


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_any_cut(data: st.DataObject) -> None:
    whole = data.draw(st.sampled_from([SNAIL.encode(), compressed(SNAIL)]))
    cut = data.draw(st.integers(0, len(whole)))
    flip = data.draw(st.integers(0, len(whole) - 1))
    changed = bytearray(whole)
    changed[flip] ^= data.draw(st.integers(0, 255))
    target_or_one_line(bytes(changed[:cut]), "a.mxl")
    target_or_one_line(bytes(changed), "a.musicxml")


JUNK = st.sampled_from(["", "0", "-1", "99", "x", "1.5", "start", "stop", "9" * 30, "\u00e9", "yes"])


@settings(max_examples=150, deadline=None)
@given(
    st.sampled_from(sorted(ELEMENTS)),
    st.lists(st.tuples(st.integers(0, 10**6), st.integers(0, 3), JUNK), min_size=1, max_size=4),
)
def test_any_element_changed(name: str, changes: list[tuple[int, int, str]]) -> None:
    """Elements taken out, doubled, given other text or other attributes."""
    root = ElementTree.fromstring(musicxml(ELEMENTS[name]))
    for where, what, junk in changes:
        rows = [(parent, child) for parent in root.iter() for child in parent]
        parent, child = rows[where % len(rows)]
        if what == 0:
            parent.remove(child)
        elif what == 1:
            parent.append(child)
        elif what == 2:
            child.text = junk
        else:
            for key in child.attrib:
                child.set(key, junk)
        if len(root) == 0:
            break
    target_or_one_line(ElementTree.tostring(root), "a.musicxml")
