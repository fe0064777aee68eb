"""The page read by a cursor that goes through each part as a reader's finger would."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from xml.etree.ElementTree import Element

from keysense.errors import TargetError
from keysense.targets.notations import direction_kinds, ending_numbers, note_signs
from keysense.targets.page import Notehead, Page, PageBar, Piano, Sign, number_bars
from keysense.targets.xmlfile import bar_name, child_number

__all__ = ["walk"]


def walk(path: Path, piano: Piano) -> Page:
    """Read the page; notes need their ids already. Raises TargetError naming the bar."""
    page = Page()
    for index, part in enumerate(piano.parts):
        walker = _Walker(path, page, index, piano.hands[index])
        for number, bar in enumerate(part.findall("measure")):
            walker.bar(number, bar)
    for bar_row in page.bars:
        if not bar_row.length:
            bar_row.length = bar_row.nominal
    number_bars(page.bars)
    return page


class _Walker:
    """A cursor over one part."""

    HANDLED = frozenset({"attributes", "backup", "forward", "note", "direction", "sound", "barline"})

    def __init__(self, path: Path, page: Page, part: int, hands: dict[int, str]) -> None:
        self.path, self.page, self.part, self.hands = path, page, part, hands
        self.unit = Fraction(1)
        self.nominal = Fraction(4)
        self.endings: frozenset[int] = frozenset()
        self.index = 0
        self.ending_stops = False
        self.as_before: set[str] = set()  # staves whose bars are written as a sign for the bar before; "" all
        self.place = self.reach = self.chord_place = Fraction(0)

    def bar(self, index: int, element: Element) -> None:
        """Read one bar."""
        if index == len(self.page.bars):
            name = element.get("number", "")
            self.page.bars.append(PageBar(implicit=element.get("implicit") == "yes", name=name))
        self.index, self.element = index, element
        self.place = self.reach = self.chord_place = Fraction(0)
        for child in element:
            if child.tag in self.HANDLED:
                getattr(self, f"_{child.tag}")(child)
        self._must_be_written_out(element)
        row = self.page.bars[index]
        row.length = max(row.length, self.reach)
        row.nominal = self.nominal
        row.endings = row.endings | self.endings
        if self.ending_stops:
            self.endings = frozenset()
            self.ending_stops = False

    def _fail(self, what: str) -> TargetError:
        return TargetError(f"{self.path}, {bar_name(self.element)}: {what}")

    def _attributes(self, element: Element) -> None:
        divisions = child_number(element, "divisions")
        if divisions:
            self.unit = divisions
        for time in element.findall("time"):
            self._time(time)
        for style in element.findall("measure-style"):
            sign = style.find("measure-repeat")
            if sign is not None:
                (self.as_before.add if sign.get("type") == "start" else self.as_before.discard)(style.get("number", ""))

    def _must_be_written_out(self, element: Element) -> None:
        """A sign for the bar before holds no notes: read as it stands it would be a bar of silence."""
        notes = [note for note in element.findall("note") if note.find("rest") is None]
        if not self.as_before <= {"" for _ in notes} | {note.findtext("staff") or "1" for note in notes}:
            raise self._fail("a sign stands for the bar before: write its notes out on the page")

    def _time(self, time: Element) -> None:
        if time.find("senza-misura") is not None:
            self.nominal = Fraction(0)
            return
        beats, beat_types = time.findall("beats"), time.findall("beat-type")
        try:
            self.nominal = sum((_signature(*pair) for pair in zip(beats, beat_types, strict=True)), Fraction(0))
        except ValueError:
            self.nominal = Fraction(0)
        if not self.nominal:
            # An engraver divides by these numbers.
            text = " ".join("/".join(row.text or "" for row in (*beats, *beat_types)).split())[:12]
            raise self._fail(f"the time signature {text!r} cannot be read: mend it on the page")

    def _backup(self, element: Element) -> None:
        self.place = max(Fraction(0), self.place - self._length(element))

    def _forward(self, element: Element) -> None:
        self.place += self._length(element)
        self.reach = max(self.reach, self.place)

    def _length(self, element: Element) -> Fraction:
        return (child_number(element, "duration") or Fraction(0)) / self.unit

    def _hand(self, element: Element) -> str:
        staff = child_number(element, "staff")
        if staff is None:
            return next(iter(self.hands.values())) if len(self.hands) == 1 else ""
        return self.hands.get(int(staff), "")

    def _note(self, element: Element) -> None:
        in_chord = element.find("chord") is not None
        is_grace = element.find("grace") is not None
        length = Fraction(0) if is_grace else self._length(element)
        if not in_chord:
            self.chord_place = self.place
            self.place += length
            self.reach = max(self.reach, self.place)
        if not element.get("id"):
            # Rests still carry fermatas, and a breath may be written over one.
            self._rest_signs(element, self.chord_place, length)
            return
        note = Notehead(
            element.get("id", ""), self.index, self.chord_place, length,
            self._hand(element) or self.hands.get(1, ""), element.findtext("voice") or "1",
            is_grace, in_chord, part=self.part,
        )  # fmt: skip
        ties = [tie.get("type") for tie in (*element.findall("tie"), *element.findall("notations/tied"))]
        note.tie_start, note.tie_stop = "start" in ties, "stop" in ties
        finger = (element.findtext("notations/technical/fingering") or "").strip()
        note.finger = int(finger) if finger in ("1", "2", "3", "4", "5") else 0
        note.signs = list(note_signs(element))
        self.page.noteheads.append(note)

    def _rest_signs(self, element: Element, place: Fraction, length: Fraction) -> None:
        if element.find("rest") is None:
            return
        for kind, value, id_ in note_signs(element):
            if kind == "fermata":
                self._sign(Sign(kind, self.index, place, self._hand(element), value, str(length), id_, self.part))

    def _sign(self, sign: Sign) -> None:
        self.page.signs.append(sign)

    def _direction(self, element: Element) -> None:
        offset = (child_number(element, "offset") or Fraction(0)) / self.unit
        place = max(Fraction(0), self.place + offset)
        hand, above = self._hand(element), element.get("placement") == "above"
        for child in element.findall("direction-type/*"):
            for kind, value in direction_kinds(child):
                number, id_ = child.get("number", "1"), child.get("id", "")
                self._sign(Sign(kind, self.index, place, hand, value, number, id_, self.part, above))
            self._jump_words(child)
        sound = element.find("sound")
        if sound is not None:
            self._sound(sound, place)

    def _sound(self, element: Element, place: Fraction | None = None) -> None:
        row = self.page.bars[self.index]
        for name, field_name in (("segno", "segno"), ("coda", "coda"), ("tocoda", "to_coda"), ("fine", "fine")):
            if element.get(name):
                setattr(row, field_name, True)
        if element.get("dacapo") == "yes":
            row.jump = "capo"
        if element.get("dalsegno"):
            row.jump = "segno"
        tempo = element.get("tempo", "")
        if tempo:
            at = self.place if place is None else place
            self._sign(Sign("sound tempo", self.index, at, "", tempo, part=self.part))

    def _jump_words(self, element: Element) -> None:
        row = self.page.bars[self.index]
        if element.tag in ("segno", "coda"):
            setattr(row, element.tag, True)
        if element.tag != "words":
            return
        words = " ".join((element.text or "").lower().replace(".", "").split())
        if words.startswith(("dc", "d c", "da capo")):
            row.jump = "capo"
        elif words.startswith(("ds", "d s", "dal segno")):
            row.jump = "segno"
        elif words == "fine":
            row.fine = True
        elif words.startswith("to coda"):
            row.to_coda = True

    def _barline(self, element: Element) -> None:
        row = self.page.bars[self.index]
        repeat, ending = element.find("repeat"), element.find("ending")
        if repeat is not None:
            if element.get("location") == "middle":
                raise self._fail("a repeat inside the bar cannot be followed: split the bar there on the page")
            if repeat.get("direction") == "forward":
                row.forward = True
            else:
                times = repeat.get("times", "2")
                row.backward = max(2, int(times)) if times.isdecimal() and len(times) < 4 else 2
        if ending is not None:
            if ending.get("type") == "start":
                self.endings = ending_numbers(ending.get("number", "1"))
            else:
                self.ending_stops = True
        for fermata in element.findall("fermata"):
            id_ = fermata.get("id", "")
            self._sign(Sign("fermata", self.index, self.place, "", number="0", id=id_, part=self.part))


def _signature(beats: Element, beat_type: Element) -> Fraction:
    """Quarters of one signature; ValueError where it is none."""
    count = sum(int(text) for text in (beats.text or "").split("+"))
    unit = int(beat_type.text or "")
    if not (0 < count <= 999 and unit in (1, 2, 4, 8, 16, 32, 64)):
        raise ValueError
    return Fraction(4 * count, unit)
