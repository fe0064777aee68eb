"""What the small elements of MusicXML say: articulations, ornaments, dynamics, metronome marks, endings.

Reference: MusicXML 4.0, elements notations, articulations, ornaments, direction-type, metronome and ending.
"""

from __future__ import annotations

from collections.abc import Iterator
from xml.etree.ElementTree import Element

__all__ = ["direction_kinds", "ending_numbers", "note_signs"]


def ending_numbers(text: str) -> frozenset[int]:
    """``1``, ``1, 2`` or ``1-3``; a bracket without a number counts as the first."""
    numbers: set[int] = set()
    for piece in text.replace(".", ",").split(","):
        ends = [int(end) for end in piece.split("-") if end.strip().isdecimal() and len(end.strip()) < 3]
        if ends:
            numbers.update(range(min(ends), max(ends) + 1))
    return frozenset(numbers or {1})


_ARTICULATIONS = {
    "staccato": ("staccato", ""),
    "staccatissimo": ("staccato", "staccatissimo"),
    "tenuto": ("tenuto", ""),
    "detached-legato": ("tenuto", "detached-legato"),
    "accent": ("accent", ""),
    "strong-accent": ("accent", "strong-accent"),
    "breath-mark": ("breath", ""),
    "caesura": ("breath", "caesura"),
}


_ORNAMENTS = {
    "trill-mark": "trill",
    "shake": "trill",
    "mordent": "mordent",
    "inverted-mordent": "mordent",
    "turn": "turn",
    "inverted-turn": "turn",
    "delayed-turn": "turn",
    "delayed-inverted-turn": "turn",
    "vertical-turn": "turn",
    "inverted-vertical-turn": "turn",
    "tremolo": "tremolo",
}
"""What is played as many keys around the note; a tremolo between two notes (start, stop) is none of them."""


def note_signs(element: Element) -> Iterator[tuple[str, str, str]]:
    """The signs of one note: (kind, value, id)."""
    for notations in element.findall("notations"):
        for slur in notations.findall("slur"):
            if slur.get("type") in ("start", "stop"):
                yield f"slur {slur.get('type')}", slur.get("number", "1"), slur.get("id", "")
        for child in notations.findall("articulations/*"):
            if child.tag in _ARTICULATIONS:
                kind, value = _ARTICULATIONS[child.tag]
                yield kind, value, child.get("id", "")
        for child in notations.findall("ornaments/*"):
            if child.tag in _ORNAMENTS and child.get("type", "single") not in ("start", "stop"):
                yield "ornament", _ORNAMENTS[child.tag], child.get("id", "")
        for spread in notations.findall("arpeggiate"):
            yield "spread", spread.get("direction", ""), spread.get("id", "")
        for fermata in notations.findall("fermata"):
            yield "fermata", "", fermata.get("id", "")
        for dynamics in notations.findall("dynamics"):
            for _, value in direction_kinds(dynamics):
                yield "dynamics", value, dynamics.get("id", "")


def direction_kinds(element: Element) -> Iterator[tuple[str, str]]:
    """What one direction says: (kind, value)."""
    if element.tag == "dynamics":
        letters = "".join(child.text or "" if child.tag == "other-dynamics" else child.tag for child in element)
        if letters.strip():
            yield "dynamics", letters.strip()
    elif element.tag in ("wedge", "pedal", "dashes"):
        yield f"{element.tag} {element.get('type', '')}", ""
    elif element.tag == "words":
        yield "words", " ".join((element.text or "").split())
    elif element.tag == "metronome":
        qpm = _metronome(element)
        if qpm is not None:
            yield "metronome", str(qpm)


_BEAT_QUARTERS = {"whole": 4.0, "half": 2.0, "quarter": 1.0, "eighth": 0.5, "16th": 0.25, "32nd": 0.125}


def _metronome(element: Element) -> float | None:
    """Quarters a minute; None where the sign gives a relation between notes instead."""
    beat, per_minute = element.findtext("beat-unit") or "", element.findtext("per-minute") or ""
    digits = "".join(ch if ch.isdigit() or ch == "." else " " for ch in per_minute).split()
    if beat not in _BEAT_QUARTERS or not digits:
        return None
    dots = len(element.findall("beat-unit-dot"))
    try:
        return float(digits[0]) * _BEAT_QUARTERS[beat] * (2 - 0.5**dots)
    except ValueError:
        return None
