"""Marks that a teacher makes in the music: ends of phrases, guide notes, hairpins, of the page or of one character.

Conventions
    A mark by hand stands at places of the page, a bar and a quarter in it (the first is 1), never at note ids, so that
    it outlives a new file of the same piece. Where bars are repeated it holds each time.
    ``phrase``: the phrase ends with this note; it becomes a breath mark where the note ends and, on the page's own
    layer, an edge of ``Target.phrases``. ``no phrase`` takes an end that the page or a recording has away.
    ``guide``: one note, found first by the reader. ``crescendo``, ``diminuendo``: from the first note to the end of
    the last one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal, get_args

import numpy as np
import numpy.typing as npt

from keysense.errors import TargetError
from keysense.targets.target import Mark, Target

__all__ = ["Marking", "MarkingKind", "PagePlace", "marked", "place_at", "read_place", "say_place"]

MarkingKind = Literal["phrase", "no phrase", "guide", "crescendo", "diminuendo"]
PagePlace = tuple[int, float]
_NEAR = 1e-4
_SPANS = ("crescendo", "diminuendo")


@dataclass(frozen=True)
class Marking:
    """One mark by hand: ``first`` and ``last`` are places (bar, quarter in it), equal where it is one note.

    layer: empty for the page, otherwise a character's word. pitch: of a guide note, MIDI. hand: of a hairpin, if it
    is for one hand alone.
    """

    kind: MarkingKind
    first: PagePlace
    last: PagePlace
    layer: str = ""
    hand: str = ""
    pitch: int | None = None
    id: str = ""

    def __post_init__(self) -> None:
        if self.kind not in get_args(MarkingKind):
            raise TargetError(f"{self.kind!r} is no mark: there are {', '.join(get_args(MarkingKind))}")

    def alike(self, other: Marking) -> bool:
        """Whether two stand for the same, whoever made them."""
        return replace(self, id="") == replace(other, id="")


def read_place(text: str) -> PagePlace:
    """A place from "4.1" (bar 4, first quarter) or "4.2.5" (bar 4, halfway after the second). Raises TargetError."""
    bar, _, quarter = text.strip().replace(",", ".").partition(".")
    try:
        place = (int(bar), float(quarter or 1))
    except ValueError:
        place = (0, 0.0)
    if not 1 <= place[1] < 1000:
        raise TargetError(f'"{text[:20]}" is no place: write the bar, a dot and the quarter in it, such as 4.1')
    return place


def say_place(place: PagePlace) -> str:
    """The place as it is typed."""
    return f"{place[0]}.{round(place[1], 3):g}"


def place_at(target: Target, quarter: float) -> PagePlace:
    """The bar and the quarter in it of a moment of the music, in quarters."""
    starts = target.bars["start_quarter"]
    if not len(starts):
        return (1, quarter + 1)
    row = max(0, int(np.searchsorted(starts, quarter + _NEAR, side="right")) - 1)
    return (int(target.bars["number"][row]), round(float(quarter - starts[row]) + 1, 6))


def marked(target: Target, markings: Sequence[Marking]) -> Target:
    """The target with these marks beside those it has. Raises TargetError on a place at which no note begins."""
    cuts: set[float] = set()
    gone: set[float] = set()
    made: list[Mark] = []
    for number, marking in enumerate(markings, 1):
        rows = list(_marks(target, marking, marking.id or f"hand-{number}"))
        ends = {mark.start_quarter for mark in rows}
        if marking.kind == "no phrase":
            gone |= ends
        else:
            made += rows
            cuts |= ends if marking.kind == "phrase" and not marking.layer else set()
    there = gone | _next_onsets(target.notes["onset_quarter"], gone)
    kept = [
        mark for mark in target.marks if mark.kind != "breath" or mark.layer or not _among(mark.start_quarter, there)
    ]
    marks = sorted([*kept, *made], key=lambda mark: mark.start_quarter)
    return replace(target, marks=tuple(marks), phrases=_phrases(target, cuts, gone))


def _marks(target: Target, marking: Marking, id_: str) -> Iterator[Mark]:
    found = list(_spans(target, marking))
    if not found:
        raise TargetError(f"no note begins at {say_place(marking.first)}: choose a place where one does")
    end = target.end_quarter
    for passing, (first, last) in enumerate(found, 1):
        name = id_ if passing == 1 else f"{id_}~{passing}"
        until = float((last["onset_quarter"] + last["duration_quarter"]).max())
        ids = tuple(str(id_) for id_ in last["id"])
        at = float(first["onset_quarter"][0])
        if marking.kind in _SPANS:
            under = _under(target, at, until, marking.hand)
            yield Mark(marking.kind, at, until, name, marking.hand, "", under, marking.layer)  # type: ignore[arg-type]
        elif marking.kind == "guide":
            yield Mark("guide", at, at, name, str(first["hand"][0]), "", ids, marking.layer)
        elif until < end - _NEAR:
            yield Mark("breath", until, until, name, "", "", ids, marking.layer)
        elif len(found) == 1:
            raise TargetError("the last phrase ends with the tune: nothing needs marking there")


def _spans(target: Target, marking: Marking) -> Iterator[tuple[npt.NDArray[np.void], npt.NDArray[np.void]]]:
    """The notes at the first and at the last place, once for each time the bars are played."""
    firsts, lasts = _at(target, marking.first, marking), _at(target, marking.last, marking)
    if marking.first == marking.last:
        if marking.kind in _SPANS:
            raise TargetError("a hairpin needs two notes: the one it begins with, and the one it ends with")
        yield from ((notes, notes) for notes in firsts)
        return
    if firsts and not lasts:
        raise TargetError(f"no note begins at {say_place(marking.last)}: choose a place where one does")
    for notes in firsts:
        after = [one for one in lasts if one["onset_quarter"][0] > notes["onset_quarter"][0]]
        if after:
            yield notes, after[0]
    if firsts and lasts and firsts[0]["onset_quarter"][0] > lasts[-1]["onset_quarter"][0]:
        raise TargetError("a hairpin ends after it begins: give the earlier note first")


def _at(target: Target, place: PagePlace, marking: Marking) -> list[npt.NDArray[np.void]]:
    """The notes that begin at a place, once for each time its bar is played; of a guide note the one pitch."""
    notes = target.notes[~target.notes["is_grace"]]
    rows = []
    for bar in target.bars[target.bars["number"] == place[0]]:
        there = notes[np.abs(notes["onset_quarter"] - (bar["start_quarter"] + place[1] - 1)) < 0.01]
        there = there[there["onset_quarter"] < bar["start_quarter"] + bar["length_quarter"] - _NEAR]
        if marking.pitch is not None:
            there = there[there["pitch"] == marking.pitch]
        if marking.hand:
            there = there[there["hand"] == marking.hand]
        if len(there):
            rows.append(there)
    return rows


def _under(target: Target, start: float, end: float, hand: str) -> tuple[str, ...]:
    notes = target.notes
    inside = (notes["onset_quarter"] > start - _NEAR) & (notes["onset_quarter"] < end - _NEAR)
    return tuple(str(id_) for id_ in notes["id"][inside & ((notes["hand"] == hand) | (hand == ""))])


def _phrases(target: Target, cuts: set[float], gone: set[float]) -> npt.NDArray[np.float64]:
    """The phrases of the target with further edges, and without those taken away."""
    if not cuts and not gone:
        return target.phrases
    onsets = target.notes["onset_quarter"]
    edges = [float(start) for start in target.phrases[1:, 0] if not _among(float(start), _next_onsets(onsets, gone))]
    edges += [at for at in _next_onsets(onsets, cuts) if not _among(at, set(edges))]
    if not edges:
        return np.zeros((0, 2))
    first = float(target.phrases[0, 0]) if len(target.phrases) else float(onsets.min())
    last = float(target.phrases[-1, 1]) if len(target.phrases) else target.end_quarter
    every = [first, *sorted(edges), last]
    return np.array([every[:-1], every[1:]]).T


def _next_onsets(onsets: npt.NDArray[np.float64], ends: set[float]) -> set[float]:
    """Where the next phrase begins after each end: over a rest, at the note after it."""
    return {float(onsets[onsets > at - _NEAR].min()) for at in ends if np.any(onsets > at - _NEAR)}


def _among(quarter: float, places: set[float]) -> bool:
    return any(abs(quarter - place) < 0.01 for place in places)
