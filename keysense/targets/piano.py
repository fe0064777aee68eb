"""Which parts of a score are the piano, which staff is which hand, and a lasting name for every notehead.

Conventions
    A part on two staves: the upper is the right hand, the lower the left. Two parts of one staff each: the first is
    the right hand. One staff alone: by its clef, a bass clef is the left hand. Ids read ``r3-2``: right hand, bar 3,
    second note of that hand; ``r3-2b`` another note of the same chord; ``r3-g1`` a grace note.
"""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path
from xml.etree.ElementTree import Element, SubElement

from keysense.errors import TargetError
from keysense.targets.page import Piano
from keysense.targets.xmlfile import bar_name, child_number

__all__ = ["find_piano", "name_noteheads"]

_NAME = re.compile(r"[A-Za-z_][\w.-]{0,47}", re.ASCII)


def find_piano(path: Path, root: Element, part: str | None = None) -> Piano:
    """The parts the piano plays; every other part is taken off the page.

    part: the name or the id of one part, where the score has more. Raises TargetError listing the parts to choose from.
    """
    parts = root.findall("part")
    names = {row.get("id", ""): " ".join((row.findtext("part-name") or "").split()) for row in root.iter("score-part")}
    staves = [_staves(row) for row in parts]
    chosen = _chosen(path, parts, names, staves, part)
    for row in parts:
        if row not in chosen:
            root.remove(row)
    _one_part_list(root, chosen, names)
    for row in chosen:
        _check_staves(path, row)
    if len(chosen) == 2:
        return Piano(tuple(chosen), ({1: "R"}, {1: "L"}))
    if _staves(chosen[0]) == 2:
        return Piano(tuple(chosen), ({1: "R", 2: "L"},))
    return Piano(tuple(chosen), ({1: "L" if chosen[0].findtext(".//clef/sign") == "F" else "R"},))


def _chosen(
    path: Path, parts: list[Element], names: dict[str, str], staves: list[int], part: str | None
) -> list[Element]:
    if part is not None:
        wanted = [row for row in parts if part.casefold() in _called(row, names)]
    elif len(parts) == 1 or (len(parts) == 2 and staves == [1, 1]):
        wanted = parts
    else:
        wanted = [row for row, count in zip(parts, staves, strict=True) if count == 2]
    if len(wanted) not in (1, 2) or (len(wanted) == 2 and staves != [1, 1]):
        listed = ", ".join(names.get(row.get("id", "")) or str(row.get("id")) for row in parts[:8])
        raise TargetError(
            f"{path} has {len(parts)} parts ({listed:.160}): save the piano part alone, or name one of them"
        )
    if len(wanted) == 1 and _staves(wanted[0]) > 2:
        raise TargetError(f"{path} is written on {_staves(wanted[0])} staves: bring the piano's two staves alone")
    return wanted


def _called(part: Element, names: dict[str, str]) -> tuple[str, str]:
    id_ = part.get("id", "")
    return id_.casefold(), names.get(id_, "").casefold()


def _staves(part: Element) -> int:
    stated = [int(child_number(row, "staves") or 1) for row in part.iter("attributes")]
    used = [int(child_number(row, "staff") or 1) for row in part.iter("note")]
    return max([1, *stated, *used])


def _check_staves(path: Path, part: Element) -> None:
    """Every sign stands on a staff that is there: an engraver falls over one that is not."""
    count = _staves(part)
    for stated in part.iter("staves"):
        stated.text = str(count)
    for bar in part.findall("measure"):
        for row in bar:
            staff = row.find("staff")
            number = child_number(row, "staff")
            if staff is not None and (number is None or number not in range(1, count + 1)):
                raise TargetError(
                    f"{path}, {bar_name(bar)}: something stands on a staff that is not there: save the score again"
                )
            if staff is not None and number is not None:
                staff.text = str(int(number))


def _one_part_list(root: Element, chosen: list[Element], names: dict[str, str]) -> None:
    """A part list of the chosen parts only; two parts of one staff are braced as a piano's."""
    old = root.find("part-list")
    at = list(root).index(old) if old is not None else list(root).index(chosen[0])
    if old is not None:
        root.remove(old)
    listed = Element("part-list")
    root.insert(at, listed)
    if len(chosen) == 2:
        SubElement(SubElement(listed, "part-group", {"type": "start", "number": "1"}), "group-symbol").text = "brace"
    for number, part in enumerate(chosen, 1):
        name = names.get(part.get("id", ""), "")
        part.set("id", f"P{number}")
        SubElement(SubElement(listed, "score-part", {"id": f"P{number}"}), "part-name").text = name
    if len(chosen) == 2:
        SubElement(listed, "part-group", {"type": "stop", "number": "1"})


def name_noteheads(path: Path, piano: Piano) -> None:
    """Give every notehead its lasting id; good ids of the file are kept, rests and what is not played lose theirs."""
    taken: set[str] = set()
    for part, hands in zip(piano.parts, piano.hands, strict=True):
        for index, bar in enumerate(part.findall("measure")):
            _name_bar(path, bar, index, hands, taken)


def _name_bar(path: Path, bar: Element, index: int, hands: dict[int, str], taken: set[str]) -> None:
    counts: Counter[str] = Counter()
    chord: Counter[str] = Counter()
    label = bar.get("number", "")
    label = label if re.fullmatch(r"[0-9A-Za-z]{1,8}", label) else f"b{index + 1}"
    for note in bar.findall("note"):
        given = note.attrib.pop("id", "")
        if not _is_played(note):
            continue
        _check_pitch(path, bar, note)
        hand = hands.get(int(child_number(note, "staff") or 1), next(iter(hands.values()))).lower()
        key = hand + ("g" if note.find("grace") is not None else "")
        if note.find("chord") is None:
            counts[key] += 1
            chord[key] = 0
        else:
            chord[key] += 1
        if not _NAME.fullmatch(given) or given in taken:
            letter = "" if not chord[key] else chr(ord("a") + min(chord[key], 25))
            given = _free(f"{hand}{label}-{key[1:]}{counts[key]}{letter}", taken)
        taken.add(given)
        note.set("id", given)


def _free(wanted: str, taken: set[str]) -> str:
    """The wanted id, or the next one free: two bars may share a number."""
    name, n = wanted, 1
    while name in taken:
        n += 1
        name = f"{wanted}_{n}"
    return name


def _is_played(note: Element) -> bool:
    """A pitched note that is on the page and meant for the pianist: no rest, no cue, nothing hidden."""
    return note.find("pitch") is not None and note.find("cue") is None and note.get("print-object") != "no"


_STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def _check_pitch(path: Path, bar: Element, note: Element) -> None:
    """A pitch the keys have; its alteration is stated as a whole number, so that no reader guesses."""
    step = (note.findtext("pitch/step") or "").strip()
    pitch = note.find("pitch")
    octave, alter = child_number(note, "pitch/octave"), child_number(note, "pitch/alter")
    if pitch is None or step not in _STEPS or octave is None or octave.denominator != 1:
        raise TargetError(f"{path}, {bar_name(bar)}: a note has no readable pitch: write it again on the page")
    semitones = alter or 0
    if semitones != int(semitones):
        raise TargetError(f"{path}, {bar_name(bar)}: a note lies between two keys: mend its accidental on the page")
    if not 0 <= 12 * (octave + 1) + _STEPS[step] + semitones <= 127:
        raise TargetError(f"{path}, {bar_name(bar)}: {step}{octave} is beyond any keyboard: mend its octave")
    stated = pitch.find("alter")
    if stated is None:
        stated = Element("alter")
        pitch.insert(1, stated)
    stated.text = str(int(semitones))
    for tag, text in (("step", step), ("octave", str(int(octave)))):
        child = pitch.find(tag)
        if child is not None:
            child.text = text
