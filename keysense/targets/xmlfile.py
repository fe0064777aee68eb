"""A MusicXML file, plain or compressed, read into a tree that can be trusted.

What is refused here never reaches a reader: entities of any kind, archives that grow beyond bounds, other roots.
The tree that comes out has one ``divisions`` throughout and whole-numbered lengths, so that no later reader rounds.
References: MusicXML 4.0 (W3C Music Notation Community Group), "Compressed .MXL files" and "duration".
"""

from __future__ import annotations

import io
import itertools
import math
import re
import zipfile
import zlib
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from xml.etree.ElementTree import Element, ParseError, SubElement

import defusedxml.ElementTree as SafeTree
from defusedxml.common import DefusedXmlException

from keysense.errors import TargetError

__all__ = ["bar_name", "child_number", "one_divisions", "read_tree"]

_LARGEST_BYTES = 64 * 1024 * 1024
_FINEST = 1_000_000
_DECIMAL = re.compile(r"[+-]?\d{1,9}(\.\d{0,9})?")
# What the archive reader is known to raise on bytes that are no archive, or only half of one.
_DAMAGED = (
    zipfile.BadZipFile, zlib.error, KeyError, NotImplementedError, RuntimeError, EOFError, OSError, ValueError,
)  # fmt: skip
_SAVE_AGAIN = "open it in your notation program and save it again as MusicXML"


def read_tree(path: Path) -> Element:
    """The root ``score-partwise`` of a .musicxml, .xml or .mxl file.

    Raises TargetError, in one line, on a file that cannot be read, is no MusicXML, or carries entities.
    """
    try:
        data = path.read_bytes()
    except OSError as cause:
        why = cause.strerror or cause
        raise TargetError(f"{path} cannot be opened ({why}): check the name and try again") from cause
    if not data.strip():
        raise TargetError(f"{path} is empty: save the score again as MusicXML")
    if data[:2] == b"PK":
        data = _unpacked(path, data)
    root = _parsed(path, data)
    if root.tag == "score-timewise":
        root = _partwise(root)
    if root.tag != "score-partwise":
        raise TargetError(f"{path} is not MusicXML (it begins with <{root.tag:.40}>): {_SAVE_AGAIN}")
    if root.find("part/measure") is None:
        raise TargetError(f"{path} holds no bars: {_SAVE_AGAIN}")
    return root


def bar_name(bar: Element) -> str:
    """How a message names a bar: by the number the page gives it."""
    return f"bar {bar.get('number', '?'):.12}"


def child_number(element: Element, tag: str) -> Fraction | None:
    """The number in a child element, None where there is none or it is no number."""
    text = (element.findtext(tag) or "").strip()
    return Fraction(text) if _DECIMAL.fullmatch(text) else None


def _unpacked(path: Path, data: bytes) -> bytes:
    """The score inside a compressed file, as its container names it."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            container = _parsed(path, _member(path, archive, "META-INF/container.xml"))
            rootfile = container.find(".//{*}rootfile")
            name = "" if rootfile is None else rootfile.get("full-path", "")
            return _member(path, archive, name)
    except _DAMAGED as cause:
        raise TargetError(f"{path} is a damaged compressed score ({_one_line(cause)}): {_SAVE_AGAIN}") from cause


def _member(path: Path, archive: zipfile.ZipFile, name: str) -> bytes:
    with archive.open(name) as member:
        data = member.read(_LARGEST_BYTES + 1)
    if len(data) > _LARGEST_BYTES:
        raise TargetError(f"{path} unpacks to more than 64 MB, which no score of one piece does: {_SAVE_AGAIN}")
    return data


def _parsed(path: Path, data: bytes) -> Element:
    if len(data) > _LARGEST_BYTES:
        raise TargetError(f"{path} is larger than 64 MB, which no score of one piece is: {_SAVE_AGAIN}")
    try:
        root: Element = SafeTree.fromstring(data, forbid_dtd=False, forbid_entities=True, forbid_external=True)
    except DefusedXmlException as cause:
        raise TargetError(
            f"{path} defines entities, which can be made to fill the memory, so it was not read: {_SAVE_AGAIN}"
        ) from cause
    except (ParseError, ValueError, LookupError) as cause:
        raise TargetError(f"{path} is not readable as MusicXML ({_one_line(cause)}): {_SAVE_AGAIN}") from cause
    return root


def _one_line(cause: BaseException) -> str:
    return " ".join(str(cause).split())[:120]


def _partwise(timewise: Element) -> Element:
    """The same score with its bars inside its parts."""
    root = Element("score-partwise", timewise.attrib)
    parts: dict[str, Element] = {}
    for child in timewise:
        if child.tag != "measure":
            root.append(child)
            continue
        for part in child.findall("part"):
            name = part.get("id", "P1")
            if name not in parts:
                parts[name] = SubElement(root, "part", {"id": name})
            bar = SubElement(parts[name], "measure", child.attrib)
            bar.extend(list(part))
    return root


def one_divisions(path: Path, parts: list[Element]) -> int:
    """Rewrite every length of the parts in one whole-numbered unit; gives how many of it make a quarter.

    Raises TargetError naming the bar on a length that is missing, negative or no number.
    """
    lengths = [row for part in parts for row in _lengths(path, part)]
    unit = math.lcm(*(quarters.denominator for _, quarters in lengths)) if lengths else 1
    if unit > _FINEST:
        raise TargetError(f"{path} divides a quarter into {unit} parts: {_SAVE_AGAIN}, without tiny values")
    for element, quarters in lengths:
        element.text = str(int(quarters * unit))
    for part in parts:
        _state_divisions(part, unit)
    return unit


def _lengths(path: Path, part: Element) -> Iterator[tuple[Element, Fraction]]:
    """Each element that holds a length, with that length in quarters."""
    divisions = Fraction(1)
    for bar in part.findall("measure"):
        for child in bar:
            if child.tag == "attributes" and child.find("divisions") is not None:
                stated = child_number(child, "divisions")
                if stated is None or stated <= 0:
                    raise TargetError(f"{path}, {bar_name(bar)}: the unit of length is no number: {_SAVE_AGAIN}")
                divisions = stated
            _checked_length(path, bar, child)
            for tag in ("duration", "offset"):
                element = child.find(tag)
                if element is not None:
                    yield element, _quarters(path, bar, child, tag) / divisions


def _quarters(path: Path, bar: Element, child: Element, tag: str) -> Fraction:
    number = child_number(child, tag)
    if number is None or (tag == "duration" and number < 0):
        text = " ".join((child.findtext(tag) or "").split())[:20]
        raise TargetError(f"{path}, {bar_name(bar)}: a length reads {text!r}, which is none: {_SAVE_AGAIN}")
    # A length given as a rounded decimal (0.333333 of a quarter) means the simple fraction next to it.
    return number if number.denominator == 1 else number.limit_denominator(1680)


def _checked_length(path: Path, bar: Element, child: Element) -> None:
    if child.tag == "note" and child.find("duration") is None and child.find("grace") is None:
        raise TargetError(f"{path}, {bar_name(bar)}: a note has no length: {_SAVE_AGAIN}")


def _state_divisions(part: Element, unit: int) -> None:
    """State the unit once, at the first bar, as every reader expects it."""
    for attributes in part.iter("attributes"):
        for stated in attributes.findall("divisions"):
            attributes.remove(stated)
    first = part.find("measure")
    if first is None:
        return
    before_notes = itertools.takewhile(lambda child: child.tag not in ("note", "backup", "forward"), first)
    opening = next((child for child in before_notes if child.tag == "attributes"), None)
    if opening is None:
        opening = Element("attributes")
        first.insert(0, opening)
    divisions = Element("divisions")
    divisions.text = str(unit)
    # The schema wants it first, after editorial notes.
    opening.insert(sum(child.tag in ("footnote", "level") for child in opening), divisions)
