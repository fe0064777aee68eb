"""The shape of a tune alone, without bounds, dots or paper: for a note, and in outline for a child to colour in.

Conventions
    Right hand where there is one; height and thickness between this piano's softest and loudest, never stretched. At
    most eight bars, so that a child has room for a pencil. Class ``colourin`` is the outline, ``twist`` its cells.
"""

from __future__ import annotations

import numpy as np

from keysense.plots.curve import smooth
from keysense.plots.frame import HandLine, Piece, thick_of
from keysense.plots.svg import Array, picture
from keysense.plots.thread import ribbon
from keysense.plots.under import Drawn

__all__ = ["tune_shape"]

_BARS = 8
_WIDTH = 1000.0
_EDGE = 8.0  # user units left free at each end
_GAP = 5.0  # between two pieces


def tune_shape(drawn: Drawn, title: str, *, colour_in: bool = False) -> str:
    """The thread of the tune in 1000 user units; empty where no loudness was heard."""
    line = next((line for line in drawn.lines if line.hand == "R"), next(iter(drawn.lines), None))
    if line is None or not line.pieces:
        return ""
    height, thick = (320.0, 84.0) if colour_in else (150.0, 26.0)
    first, last = _window(drawn, line)
    body = ""
    for piece in line.pieces:
        if first - 1e-6 <= piece.position[0] < last - 1e-6:
            body += _piece(piece, drawn, (first, last), height, thick, "colourin" if colour_in else "thread")
    return picture(_WIDTH, height, body, title) if body else ""


def _window(drawn: Drawn, line: HandLine) -> tuple[float, float]:
    """Eight bars from the one in which the playing began."""
    starts = drawn.target.bars["start_quarter"]
    ends = starts + drawn.target.bars["length_quarter"]
    began = int(np.clip(np.searchsorted(starts, line.pieces[0].position[0] + 1e-6) - 1, 0, len(starts) - 1))
    return float(starts[began]), float(ends[min(began + _BARS, len(ends)) - 1])


def _piece(piece: Piece, drawn: Drawn, window: tuple[float, float], height: float, thick: float, cls: str) -> str:
    """One piece, its round ends inside its own stretch of time, so that neighbours never run into each other."""
    at = np.linspace(piece.position[0], min(piece.position[-1], window[1]), max(6, 3 * len(piece.position)))
    line = smooth(piece.position, piece.line, at)
    share = np.clip((line - drawn.bounds.soft) / (drawn.bounds.loud - drawn.bounds.soft), 0.0, 1.0)
    x = _EDGE + (_WIDTH - 2 * _EDGE) * (at - window[0]) / (window[1] - window[0])
    width: Array = np.minimum(thick_of(line, drawn.bounds, 0.2 * thick, thick), max(x[-1] - x[0] - _GAP, 3.0))
    room = thick / 2 + 6
    y = height - room - (height - 2 * room) * share
    inner = np.linspace(x[0] + width[0] / 2, max(x[-1] - _GAP - width[-1] / 2, x[0] + width[0] / 2 + 1.0), len(x))
    return ribbon(inner, y, width, cls=cls, step=5.0)
