"""From what was heard to where it is drawn: lines of thread, hairpins, and the marks of the heard lane.

Positions are quarters of the target; a picture maps them to its own x.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from keysense.following.following import Following
from keysense.notes import Take
from keysense.plots.frame import HandLine, Piece, Wedge
from keysense.plots.svg import Array
from keysense.targets.target import Mark, Target

if TYPE_CHECKING:
    from keysense.findings.contours import Contour

__all__ = ["hand_lines", "played_in_bars", "wedges_of", "wedges_under"]

_APART = 0.75  # held for less than this share of the way to the next note, a note is drawn apart
_APART_REPEATED = 0.5  # a repeated key must come up before it can speak again


@dataclass(frozen=True)
class _Events:
    """Notes of one hand, keys that came down together taken as one; ``held`` is the share of the way to the next."""

    quarter: Array
    line: Array
    written: Array
    held: Array
    same_key: npt.NDArray[np.bool_]
    stretch: npt.NDArray[np.int64]


def hand_lines(contours: Sequence[Contour], take: Take, target: Target, following: Following) -> tuple[HandLine, ...]:
    """The thread of each hand, broken at phrases, rests and goings-back, snipped where notes were let go."""
    lines = []
    for contour in contours:
        if not len(contour.onset_quarter):
            continue
        events = _events(contour, take, target, following)
        pieces = _pieces(events)
        lines.append(HandLine(contour.hand or "", pieces, contour.onset_quarter, np.asarray(contour.velocity, float)))
    return tuple(lines)


def played_in_bars(lines: Sequence[HandLine], bars: npt.NDArray[np.void]) -> Array:
    """The middle of the phrase line (velocity) in each `BAR` row, NaN where nothing was heard."""
    heights = np.full(len(bars), np.nan)
    for row, bar in enumerate(bars):
        first, last = float(bar["start_quarter"]), float(bar["start_quarter"] + bar["length_quarter"])
        heard = [
            piece.line[(piece.position >= first - 1e-6) & (piece.position < last)]
            for line in lines
            for piece in line.pieces
        ]
        every = np.concatenate(heard) if heard else np.zeros(0)
        heights[row] = float(np.median(every)) if len(every) else np.nan
    return heights


def wedges_of(marks: Sequence[Mark], lines: Sequence[HandLine]) -> tuple[Wedge, ...]:
    """The hairpins asked for, each anchored at the line of its hand where it began; none where nothing was heard.

    One that is for both hands has its paper under each.
    """
    wedges = []
    for mark in marks:
        if mark.kind not in ("crescendo", "diminuendo") or mark.end_quarter <= mark.start_quarter:
            continue
        own = [line for line in lines if line.hand == mark.hand]
        for line in own or (lines if not mark.hand else lines[:1]):
            heard = _line_at(line, mark.start_quarter)
            if heard is not None:
                wedges.append(Wedge(mark.start_quarter, mark.end_quarter, heard, mark.kind == "crescendo", line.hand))
    return tuple(wedges)


def wedges_under(lines: Sequence[HandLine], wedges: Sequence[Wedge]) -> tuple[Wedge, ...]:
    """Those of the hands that are drawn."""
    hands = {line.hand for line in lines}
    return tuple(wedge for wedge in wedges if wedge.hand in hands)


def _line_at(line: HandLine, quarter: float) -> float | None:
    """The phrase line where a mark begins: at the piece that sounds there, else at the next one to begin."""
    for piece in line.pieces:
        if piece.position[-1] > quarter:
            return float(np.interp(quarter, piece.position, piece.line))
    return None


def _events(contour: Contour, take: Take, target: Target, following: Following) -> _Events:
    played = _played_rows(contour, take, following)
    quarter = np.asarray(contour.onset_quarter, float)
    first = np.concatenate([[True], np.abs(np.diff(quarter)) > 1e-6])
    rows = np.asarray(contour.target_row, int)[first]
    notes = take.notes[played[first]]
    pace = _quarters_a_second(notes["onset_s"], quarter[first])
    held_s = np.maximum(notes["release_s"] - notes["onset_s"], 0.01)
    written = np.where(rows >= 0, target.notes["duration_quarter"][rows], 1.0)
    gap_s = np.append(np.diff(notes["onset_s"]), max(float(written[-1]) / pace, 0.01))
    same = np.append(notes["pitch"][:-1] == notes["pitch"][1:], False)
    held = held_s / np.maximum(gap_s, 0.01)
    return _Events(quarter[first], contour.line_velocity[first], written, held, same, contour.stretch[first])


def _played_rows(contour: Contour, take: Take, following: Following) -> npt.NDArray[np.int64]:
    """The row of the take behind each row of the contour: the note of that target row nearest to its time."""
    pairs = following.pairs
    rows = np.zeros(len(contour.onset_s), np.int64)
    for i, (row, onset) in enumerate(zip(contour.target_row, contour.onset_s, strict=True)):
        candidates = pairs["played"][(pairs["target"] == row) & (pairs["played"] >= 0)]
        if not len(candidates):
            candidates = np.arange(len(take))
        rows[i] = candidates[np.abs(take.notes["onset_s"][candidates] - onset).argmin()]
    return rows


def _quarters_a_second(onset_s: Array, quarter: Array) -> float:
    forward = (np.diff(quarter) > 0) & (np.diff(onset_s) > 0)
    if not forward.any():
        return 1.0
    return float(np.median(np.diff(quarter)[forward] / np.diff(onset_s)[forward]))


def _pieces(events: _Events) -> tuple[Piece, ...]:
    quarter, n = events.quarter, len(events.quarter)
    limit = np.where(events.same_key, _APART_REPEATED, _APART)
    let_go = events.held < limit
    broken = (np.diff(events.stretch) != 0) | (np.diff(quarter) < 0)
    ends: list[int] = np.flatnonzero(np.append(let_go[:-1] | broken, True)).tolist()
    pieces, first = [], 0
    for last in ends:
        until = float(quarter[last] + events.written[last] * min(0.92, float(events.held[last])))
        position = np.append(quarter[first : last + 1], max(until, float(quarter[last]) + 0.12))
        goes_on = last + 1 < n and not broken[last]
        end_line = _end_line(events, last, float(position[-1])) if goes_on else float(events.line[last])
        line = np.append(events.line[first : last + 1], end_line)
        to = float(quarter[last + 1]) if goes_on else None
        pieces.append(Piece(position, line, apart=bool(first == last and let_go[last]), to=to))
        first = last + 1
    return tuple(pieces)


def _end_line(events: _Events, last: int, at: float) -> float:
    return float(np.interp(at, events.quarter[last : last + 2], events.line[last : last + 2]))
