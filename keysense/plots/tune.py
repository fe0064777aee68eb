"""A tune without a page as thread drawings, a few bars a line, with the place of every note: to look at and to tap."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.notes import Take
from keysense.plots.drawing import note_places, thread_drawing
from keysense.targets.target import Target, page_id
from keysense.words.catalogue import word

__all__ = ["DrawnLine", "drawn_lines"]

Rows = npt.NDArray[np.void]
_SECONDS_A_QUARTER = 0.5
_LOUD = 70.0


@dataclass(frozen=True)
class DrawnLine:
    """One line of a drawn tune, as one of an engraved page."""

    svg: str
    width: float
    height: float
    note_x: dict[str, float]
    note_y: dict[str, float]
    bar_lines: tuple[float, ...]
    first_bar: int
    last_bar: int


def drawn_lines(target: Target, title: str, *, width: float, bars_a_line: int) -> list[DrawnLine]:
    """The whole tune; notes struck together share the place of the outermost."""
    rows = range(0, max(1, len(target.bars)), bars_a_line)
    lines = [_line(target, title, slice(row, row + bars_a_line), width) for row in rows]
    return [line for line in lines if line is not None]


def _line(target: Target, title: str, part: slice, width: float) -> DrawnLine | None:
    bars = target.bars[part]
    start = float(bars["start_quarter"][0])
    end = float(bars["start_quarter"][-1] + bars["length_quarter"][-1])
    onset = target.notes["onset_quarter"]
    notes = target.notes[(onset >= start - 1e-6) & (onset < end - 1e-6) & ~target.notes["is_grace"]]
    if not len(notes):
        return None
    take = _as_take(target, notes)
    hands = [str(hand) for hand in notes["hand"]] if target.hands else None
    seconds = (end - float(notes["onset_quarter"].min())) * _SECONDS_A_QUARTER
    said = word("piece.drawn", title=title, first=int(bars["number"][0]), last=int(bars["number"][-1]))
    svg = thread_drawing(take, said, hands=hands, seconds=seconds, width=width)
    places = note_places(take, hands=hands, seconds=seconds, width=width)
    x, y = _by_note(notes, places)
    height = float(svg.split('viewBox="0 0 ')[1].split('"')[0].split()[1])
    return DrawnLine(svg, width, height, x, y, (), int(bars["number"][0]), int(bars["number"][-1]))


def _as_take(target: Target, notes: Rows) -> Take:
    onset = notes["onset_quarter"] * _SECONDS_A_QUARTER
    rows = np.isin(target.notes["id"], notes["id"])
    loud = target.spread["velocity"][rows] if len(target.spread) else np.full(len(notes), _LOUD)
    return Take.from_notes(
        onset_s=onset,
        release_s=onset + 0.95 * notes["duration_quarter"] * _SECONDS_A_QUARTER,
        pitch=notes["pitch"],
        velocity=np.clip(np.nan_to_num(loud, nan=_LOUD), 1, 127).astype(int),
    )


def _by_note(notes: Rows, places: list[tuple[float, float, float, float]]) -> tuple[dict[str, float], dict[str, float]]:
    x: dict[str, float] = {}
    y: dict[str, float] = {}
    for second, pitch, at_x, at_y in places:
        same = np.abs(notes["onset_quarter"] * _SECONDS_A_QUARTER - second) < 1e-6
        for id_ in notes["id"][same & (notes["pitch"] == pitch)]:
            x[page_id(str(id_))], y[page_id(str(id_))] = at_x, at_y
    return x, y
