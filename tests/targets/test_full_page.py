"""A page dressed as notation programs dress it: credits, layout, lyrics, chord names, ornaments, dashes, cross staff.

Written by hand for this test after the MusicXML 4.0 schema; the tune is our own.
"""

from __future__ import annotations

from pathlib import Path

from keysense.engraving import engrave
from keysense.targets import read_target
from keysense.targets.target import Target

PAGE = """<?xml version="1.0" encoding="UTF-8" standalone="no"?>
<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "http://www.musicxml.org/dtds/partwise.dtd">
<score-partwise version="4.0">
  <movement-title>Lantern Walk</movement-title>
  <identification><creator type="composer">made for this test</creator>
    <encoding><software>by hand</software><supports element="print" attribute="new-page" type="yes"/></encoding></identification>
  <defaults><scaling><millimeters>7</millimeters><tenths>40</tenths></scaling></defaults>
  <credit page="1"><credit-type>title</credit-type><credit-words font-size="22">Lantern Walk</credit-words></credit>
  <part-list>
    <part-group type="start" number="1"><group-symbol>brace</group-symbol></part-group>
    <score-part id="P1"><part-name>Pianoforte</part-name><part-abbreviation>Pno.</part-abbreviation>
      <score-instrument id="P1-I1"><instrument-name>Grand</instrument-name></score-instrument>
      <midi-instrument id="P1-I1"><midi-channel>1</midi-channel></midi-instrument></score-part>
    <part-group type="stop" number="1"/>
  </part-list>
  <part id="P1">
    <measure number="1" width="200">
      <print><system-layout><system-margins><left-margin>50</left-margin></system-margins></system-layout></print>
      <attributes><divisions>2</divisions><key><fifths>-1</fifths></key><time symbol="common"><beats>4</beats>
        <beat-type>4</beat-type></time><staves>2</staves><clef number="1"><sign>G</sign><line>2</line></clef>
        <clef number="2"><sign>F</sign><line>4</line></clef></attributes>
      <direction placement="above" system="only-top"><direction-type><words font-weight="bold">Andante </words></direction-type>
        <direction-type><metronome parentheses="no"><beat-unit>quarter</beat-unit><beat-unit-dot/><per-minute>c. 56</per-minute>
        </metronome></direction-type><staff>1</staff><sound tempo="84"/></direction>
      <direction placement="below"><direction-type><words font-style="italic">cresc.</words></direction-type>
        <direction-type><dashes type="start" number="1"/></direction-type><staff>1</staff></direction>
      <harmony><root><root-step>F</root-step></root><kind>major</kind></harmony>
      <note default-x="80"><pitch><step>F</step><octave>4</octave></pitch><duration>2</duration><voice>1</voice>
        <type>quarter</type><stem>up</stem><staff>1</staff>
        <notations><ornaments><trill-mark/></ornaments><arpeggiate/></notations>
        <lyric number="1"><syllabic>single</syllabic><text>Glow</text></lyric></note>
      <note><pitch><step>B</step><alter>-1</alter><octave>4</octave></pitch><duration>1</duration><voice>1</voice>
        <type>eighth</type><stem>down</stem><staff>1</staff><beam number="1">begin</beam></note>
      <note><pitch><step>A</step><octave>4</octave></pitch><duration>1</duration><voice>1</voice>
        <type>eighth</type><stem>down</stem><staff>1</staff><beam number="1">end</beam></note>
      <direction><direction-type><dashes type="stop" number="1"/></direction-type><staff>1</staff></direction>
      <note><rest><display-step>B</display-step><display-octave>4</display-octave></rest><duration>4</duration><voice>1</voice>
        <type>half</type><staff>1</staff></note>
      <backup><duration>8</duration></backup>
      <note><pitch><step>F</step><octave>3</octave></pitch><duration>4</duration><voice>5</voice><type>half</type>
        <stem>down</stem><staff>2</staff></note>
      <note><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration><voice>5</voice><type>half</type>
        <stem>down</stem><staff>1</staff></note>
    </measure>
    <measure number="2">
      <print new-system="yes"/>
      <direction placement="above"><direction-type><octave-shift type="down" size="8" number="1"/></direction-type>
        <staff>1</staff></direction>
      <note><pitch><step>C</step><octave>6</octave></pitch><duration>8</duration><tie type="start"/><voice>1</voice>
        <type>whole</type><staff>1</staff><notations><tied type="start"/><articulations><strong-accent type="up"/>
        </articulations></notations></note>
      <direction><direction-type><octave-shift type="stop" size="8" number="1"/></direction-type><staff>1</staff></direction>
      <backup><duration>8</duration></backup>
      <note><rest measure="yes"/><duration>8</duration><voice>5</voice><staff>2</staff></note>
      <barline location="right"><bar-style>light-light</bar-style></barline>
    </measure>
    <measure number="3">
      <attributes><divisions>4</divisions></attributes>
      <direction placement="above"><direction-type><words>poco</words></direction-type>
        <direction-type><words>rit.</words></direction-type><staff>1</staff></direction>
      <note><pitch><step>C</step><octave>6</octave></pitch><duration>8</duration><tie type="stop"/><voice>1</voice>
        <type>half</type><staff>1</staff><notations><tied type="stop"/></notations></note>
      <note><rest/><duration>8</duration><voice>1</voice><type>half</type><staff>1</staff></note>
      <backup><duration>16</duration></backup>
      <forward><duration>8</duration><voice>5</voice><staff>2</staff></forward>
      <note><pitch><step>F</step><octave>2</octave></pitch><duration>8</duration><voice>5</voice><type>half</type><staff>2</staff>
        <notations><fermata type="upright"/></notations></note>
      <barline location="right"><bar-style>light-heavy</bar-style></barline>
    </measure>
  </part>
</score-partwise>
"""  # noqa: E501


def page(tmp_path: Path) -> Target:
    (tmp_path / "lantern_walk.xml").write_text(PAGE, "utf-8")
    return read_target(tmp_path / "lantern_walk.xml")


def test_everything_on_the_page_is_read(tmp_path: Path) -> None:
    target = page(tmp_path)
    assert target.source.title == "Lantern Walk"
    assert target.tempo_qpm == 84  # a dotted quarter at 56
    columns = ["id", "hand", "onset_quarter", "duration_quarter", "pitch", "bar"]
    assert target.notes[columns].tolist() == [
        ("r1-1", "R", 0, 1, 65, 1), ("l1-1", "L", 0, 2, 53, 1), ("r1-2", "R", 1, 0.5, 70, 1),
        ("r1-3", "R", 1.5, 0.5, 69, 1), ("r1-4", "R", 2, 2, 60, 1), ("r2-1", "R", 4, 6, 84, 2),
        ("l3-1", "L", 10, 2, 41, 3),
    ]  # fmt: skip
    marks = [(m.kind, m.hand, m.start_quarter, m.end_quarter, m.value) for m in target.marks]
    assert marks == [
        ("crescendo", "", 0, 2, "cresc."), ("ornament", "R", 0, 1, "trill"), ("spread", "R", 0, 1, ""),
        ("rest", "L", 2, 10, ""),
        ("accent", "R", 4, 10, "strong-accent"),
        ("ritardando", "", 8, 12, "rit."), ("fermata", "L", 10, 12, ""),
    ]  # fmt: skip


def test_it_is_engraved_in_its_own_lines(tmp_path: Path) -> None:
    target = page(tmp_path)
    wide, narrow = engrave(target, width=1800), engrave(target, width=700)
    assert [system.bars for system in wide.systems] == [(1, 2, 3)]
    assert [system.bars for system in narrow.systems] == [(1, 2), (3,)]
    for engraving in (wide, narrow):
        heads = {id_ for system in engraving.systems for id_ in system.note_x}
        assert set(target.notes["id"].tolist()) <= heads
        assert "Pianoforte" not in "".join(system.svg for system in engraving.systems)


def test_a_metronome_mark_behind_words_keeps_its_dot(tmp_path: Path) -> None:
    svg = engrave(page(tmp_path), width=1200).systems[0].svg
    assert "Andante" in svg
    assert "♩." in svg
