"""The engraver's SVG made fit for a page: flat, small, its ink the page's, its ids the page's own.

Conventions
    One user unit is one unit of the view box. Noteheads keep ``data-note`` with their page id; nothing else keeps an
    id but the glyphs, which are named after the picture they belong to, so that pictures never borrow from each other.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import defusedxml.ElementTree as SafeTree

__all__ = ["Picture", "tidy"]

_TRANSLATE = re.compile(r"translate\(([-\d.]+),?\s*([-\d.]+)\)(?:\s*scale\(([-\d.]+))?")
_MOVE_X = re.compile(r"M(-?\d+)")
_INK = {
    "style": "color:var(--music,#000)", "fill": "currentColor", "stroke": "currentColor", "stroke-width": "1",
    "font-family": "Times, serif", "aria-hidden": "true", "focusable": "false",
}  # fmt: skip
_TYPE = {
    "tempo": {"font-weight": "bold"}, "fing": {"font-weight": "bold"}, "ending": {"font-weight": "bold"},
    "dir": {"font-style": "italic"}, "dynam": {"font-style": "italic"}, "mNum": {"font-style": "italic"},
}  # fmt: skip
# Groups that the page or its scripts look for; every other class of the engraver's goes.
_SAID = frozenset({"note", "notehead", "hairpin", "dynam"})
_BLACK_HEAD_WIDTH = 314.0
_ABOVE = 110.0  # engraver's units by which a metronome mark is lifted: half its notehead hung into the time signature
# Metronome signs (SMuFL code points) inside a line of words, in signs and words that text fonts have.
_IN_WORDS = {0xECA2: "whole", 0xECA3: "half", 0xECA5: "♩", 0xECA7: "♪", 0xECA9: "16th", 0xECB7: "."}


@dataclass(frozen=True)
class Picture:
    """One line of music: its SVG, its size, and where things stand, all in user units."""

    svg: str
    width: float
    height: float
    note_x: dict[str, float]
    note_y: dict[str, float]
    bar_lines: tuple[float, ...]
    left: float


def tidy(raw: str, prefix: str, resources: Path) -> Picture:
    """From one page of verovio's SVG. resources: verovio's folder of glyphs."""
    root: Element = ElementTree.fromstring(raw)  # noqa: S314 - the engraver's own text; what users bring is read safely
    for element in root.iter():
        element.tag = element.tag.rpartition("}")[2]
    inner = root.find("svg")
    defs = root.find("defs")
    margin = None if inner is None else inner.find("g")
    if inner is None or margin is None:
        raise ValueError("the engraver's picture has another build than expected")
    width, height = (float(v) for v in root.get("viewBox", "").split()[2:])
    scale = width / float(inner.get("viewBox", "0 0 1 1").split()[2])
    dx, dy = _translation(margin)
    picture = _flat(root, width, height, scale, margin)
    if defs is not None and len(defs):
        picture.insert(0, defs)
    heads = dict(_noteheads(margin, resources))
    bars = tuple((dx + x) * scale for x in _bar_ends(margin))
    left = (dx + _system_left(margin)) * scale
    _texts_without_music_font(margin, resources)
    _own_names(picture, prefix)
    _lean(picture)
    return Picture(
        ElementTree.tostring(picture, encoding="unicode"),
        width,
        height,
        {id_: round((dx + x) * scale, 2) for id_, (x, _) in heads.items()},
        {id_: round((dy + y) * scale, 2) for id_, (_, y) in heads.items()},
        tuple(round(x, 2) for x in bars),
        round(left, 2),
    )


def _flat(root: Element, width: float, height: float, scale: float, margin: Element) -> Element:
    """One svg element without another inside."""
    picture = Element("svg", {"xmlns": "http://www.w3.org/2000/svg", "viewBox": f"0 0 {width:g} {height:g}", **_INK})
    margin.set("transform", f"scale({scale:g}) {margin.get('transform', '')}".strip())
    picture.append(margin)
    for element in picture.iter():
        element.tail = None
        if element.tag != "tspan" and element.tag != "text":
            element.text = None
    return picture


def _translation(element: Element) -> tuple[float, float]:
    match = _TRANSLATE.search(element.get("transform", ""))
    return (float(match[1]), float(match[2])) if match else (0.0, 0.0)


def _classes(element: Element) -> list[str]:
    return element.get("class", "").split()


def _noteheads(margin: Element, resources: Path) -> list[tuple[str, tuple[float, float]]]:
    """Page id and centre of each notehead, in the engraver's own units."""
    rows = []
    for note in margin.iter("g"):
        if "note" not in _classes(note):
            continue
        head = next((use for g in note.iter("g") if "notehead" in _classes(g) for use in g.iter("use")), None)
        match = _TRANSLATE.search("" if head is None else head.get("transform", ""))
        if head is None or match is None:
            continue
        glyph = head.get("href", "").lstrip("#").split("-")[0]
        half = _advance(resources, glyph) * float(match[3] or 1) / 2
        rows.append((note.get("id", ""), (float(match[1]) + half, float(match[2]))))
    return rows


@cache
def _advances(resources: Path) -> dict[str, float]:
    text = (resources / "Leipzig.xml").read_text("utf-8")
    return {m[1]: float(m[2]) for m in re.finditer(r'<g c="([0-9A-F]+)"[^>]* h-a-x="([\d.]+)"', text)}


def _advance(resources: Path, glyph: str) -> float:
    return _advances(resources).get(glyph, _BLACK_HEAD_WIDTH)


def _bar_ends(margin: Element) -> list[float]:
    """Where each bar ends: the rightmost stroke of its last bar line."""
    ends = []
    for bar in margin.iter("g"):
        if "measure" in _classes(bar):
            lines = [g for g in bar.iter("g") if "barLine" in _classes(g)]
            xs = [float(x) for g in lines for path in g.iter("path") for x in _MOVE_X.findall(path.get("d", ""))]
            xs = xs or [float(x) for g in bar.iter("g") if "staff" in _classes(g) for x in _right_ends(g)]
            ends.append(max(xs, default=0.0))
    return ends


def _right_ends(staff: Element) -> list[str]:
    return [x for path in staff.findall("path") for x in re.findall(r"L(-?\d+)", path.get("d", ""))]


def _system_left(margin: Element) -> float:
    xs = [float(x) for g in margin.iter("g") if "staff" in _classes(g)
          for path in g.findall("path") for x in _MOVE_X.findall(path.get("d", ""))]  # fmt: skip
    return min(xs, default=0.0)


def _texts_without_music_font(margin: Element, resources: Path) -> None:
    """Draw the music signs inside words (the note of a metronome mark) as glyphs: no font to carry along."""
    for parent in list(margin.iter("g")):
        for text in parent.findall("text"):
            runs = [run for run in text.iter("tspan") if run.get("font-family") == "Leipzig"]
            if runs:
                _draw_signs(parent, text, runs, resources)


def _draw_signs(parent: Element, text: Element, runs: list[Element], resources: Path) -> None:
    first = next((run for run in text.iter("tspan") if (run.text or "").strip()), None)
    x, y = float(text.get("x", "0")), float(text.get("y", "0")) - _ABOVE
    text.set("y", f"{y:g}")
    for run in runs:
        glyphs = _glyphs(run.text or "", resources) if run is first else []
        if not glyphs:
            run.text = "".join(_IN_WORDS.get(ord(sign), "") for sign in run.text or "")
            run.attrib.pop("font-family")
            continue
        size = float(run.get("font-size", "720px").removesuffix("px")) / 1000
        for code, path in glyphs:
            path.set("transform", f"translate({x:g}, {y:g}) scale({size:g}) scale(1,-1)")
            parent.append(path)
            x += _advance(resources, code) * size
        run.text = ""
    text.set("x", f"{x:g}")


def _glyphs(signs: str, resources: Path) -> list[tuple[str, Element]]:
    rows = []
    for sign in signs:
        code = f"{ord(sign):04X}"
        file = resources / "Leipzig" / f"{code}.xml"
        path = SafeTree.fromstring(file.read_bytes()).find("path") if file.exists() else None
        if path is None:
            return []
        rows.append((code, path))
    return rows


def _own_names(picture: Element, prefix: str) -> None:
    """Ids of this picture alone, ink as attributes (the engraver's style sheet would beat the page's)."""
    for element in picture.iter():
        classes = _classes(element)
        id_ = element.attrib.pop("id", "")
        if "note" in classes and id_:
            element.set("id", prefix + id_)
            element.set("data-note", id_)
        elif id_ and element.tag == "g" and not classes:
            element.set("id", prefix + id_)
        if element.get("href", "").startswith("#"):
            element.set("href", f"#{prefix}{element.get('href', '')[1:]}")
        for name in classes:
            for key, value in _TYPE.get(name, {}).items():
                element.set(key, value)
        if "placeholder" in classes:
            element.set("visibility", "hidden")
        if element.tag == "text":
            element.set("stroke", "none")


def _lean(element: Element) -> None:
    """Without groups that say nothing and with neighbouring strokes of one kind as one: half as much to read in."""
    children: list[Element] = []
    for child in element:
        if child.tag == "defs":
            children.append(child)
            continue
        _lean(child)
        if child.tag == "g":
            said = _SAID.intersection(_classes(child))
            child.attrib.pop("class", None)
            if said:
                child.set("class", " ".join(sorted(said)))
            if not child.attrib:
                children.extend(child)
                continue
            if said == {"notehead"} and len(child.attrib) == len(child) == 1:
                child[0].set("class", "notehead")
                child = child[0]
        children.append(child)
    element[:] = []
    for child in children:
        last = element[-1] if len(element) else None
        if last is not None and _is_straight(last) and _is_straight(child) and _kind(last) == _kind(child):
            last.set("d", f"{last.get('d', '')}{child.get('d', '')}")
        else:
            element.append(child)


def _is_straight(element: Element) -> bool:
    """Straight strokes alone may share a path: they enclose nothing that could be filled."""
    return element.tag == "path" and not set("CcQqSsAaZz").intersection(element.get("d", ""))


def _kind(path: Element) -> dict[str, str]:
    return {name: value for name, value in path.attrib.items() if name != "d"}
