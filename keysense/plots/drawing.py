"""The thread drawing of a take: height is the tune, thickness is loudness, cut where apart, one thread a hand.

It stands for a take wherever no score does. Pieces lie along the curve of the tune, so that it is a line and never
boxes on a grid.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.notes import Take
from keysense.plots.curve import smooth
from keysense.plots.svg import Array, circle, path, picture, points
from keysense.plots.thread import hollow, ribbon

__all__ = ["note_places", "thread_drawing"]

_TOGETHER_S = 0.05  # keys down within this are one event; common practice, no source
_APART = 0.75  # held for less than this share of the way to the next note, a note is drawn apart
_MIDDLE_C = 60
_CLOSE = 6.0  # user units from note to note; closer, a thread of one's own width folds over itself
_PAUSE_S = 1.2  # after this long without a note the thread is cut, whatever was held


@dataclass(frozen=True)
class _Line:
    onset_s: Array
    release_s: Array
    pitch: Array
    velocity: Array


def thread_drawing(
    take: Take, title: str, *, hands: Sequence[str] | None = None, seconds: float | None = None,
    width: float = 420.0, cls: str = "", places: bool = False,
) -> str:  # fmt: skip
    """The whole take; ``hands`` tells the hand of each note, else middle C parts them; ``seconds`` shares a scale.

    places: a dot nobody sees at each note, for a script that shows the place sounding.
    """
    upper, lower = _hands(take.notes, hands)
    start = float(take.notes["onset_s"].min()) if len(take) else 0.0
    length = seconds or max(take.duration_s, 0.1)

    def x_of(time_s: Array) -> Array:
        return 8 + (width - 16) * (time_s - start) / length

    body = ""
    if upper is not None:
        body += _solid(upper, x_of(upper.onset_s), x_of(upper.release_s), 10.0, 54.0, f"thread {cls}".strip())
        body += _places(upper, upper.onset_s - start, x_of(upper.onset_s), (10.0, 54.0)) if places else ""
    if lower is not None:
        body += _hollow(lower, x_of(lower.onset_s), x_of(lower.release_s), 72.0, 88.0, f"line {cls}".strip())
        body += _places(lower, lower.onset_s - start, x_of(lower.onset_s), (72.0, 88.0)) if places else ""
    return picture(width, 94 if lower is not None else 64, body, title)


def note_places(
    take: Take, *, hands: Sequence[str] | None = None, seconds: float | None = None, width: float = 420.0
) -> list[tuple[float, float, float, float]]:
    """Seconds, MIDI pitch, x and y of each event of each hand, where `thread_drawing` of the same take has it."""
    start = float(take.notes["onset_s"].min()) if len(take) else 0.0
    length = seconds or max(take.duration_s, 0.1)
    rows = []
    for line, between in zip(_hands(take.notes, hands), ((10.0, 54.0), (72.0, 88.0)), strict=True):
        if line is not None:
            x = 8 + (width - 16) * (line.onset_s - start) / length
            columns = (line.onset_s, line.pitch, x, _height(line, *between))
            rows += list(zip(*(column.tolist() for column in columns), strict=True))
    return rows


def _places(line: _Line, since_s: Array, x: Array, between: tuple[float, float]) -> str:
    rows = zip(since_s, x, _height(line, *between), strict=True)
    return "".join(circle("unseen", a, b, 2.0, q=float(at)) for at, a, b in rows)


def _hands(notes: npt.NDArray[np.void], hands: Sequence[str] | None) -> tuple[_Line | None, _Line | None]:
    if not len(notes):
        return None, None
    left = notes["pitch"] < _MIDDLE_C if hands is None else np.array([hand == "L" for hand in hands], bool)
    if hands is None and (left.all() or left.sum() < 3):
        return _line(notes, top=True), None
    upper = _line(notes[~left], top=True) if (~left).any() else None
    return upper, _line(notes[left], top=False) if left.any() else None


def _line(notes: npt.NDArray[np.void], *, top: bool) -> _Line:
    """One line of events: of keys that came down together, the outermost one."""
    new = np.concatenate([[True], np.diff(notes["onset_s"]) > _TOGETHER_S])
    rows = []
    for group in np.split(np.arange(len(notes)), np.flatnonzero(new)[1:]):
        pitches = notes["pitch"][group]
        rows.append(group[int(pitches.argmax() if top else pitches.argmin())])
    kept = notes[np.array(rows)]
    return _Line(*(kept[name].astype(float) for name in ("onset_s", "release_s", "pitch", "velocity")))


def _pieces(line: _Line, x: Array, end: Array) -> list[tuple[int, int, float]]:
    """Runs of notes that hang together: first and last note, and where the thread ends."""
    gap = np.diff(line.onset_s)
    held = line.release_s[:-1] - line.onset_s[:-1]
    cut = np.flatnonzero((held < _APART * gap) | (gap > _PAUSE_S))
    firsts = np.concatenate([[0], cut + 1])
    lasts = np.concatenate([cut, [len(x) - 1]])
    following = np.append(x[1:], np.inf)
    stops = np.minimum(np.maximum(end[lasts], x[lasts] + 3), following[lasts] - 2)
    return [(int(a), int(b), float(stop)) for a, b, stop in zip(firsts, lasts, stops, strict=True)]


def _height(line: _Line, top: float, bottom: float) -> Array:
    span = max(7.0, float(np.ptp(line.pitch)))
    middle = (line.pitch.max() + line.pitch.min()) / 2
    drawn: Array = (top + bottom) / 2 - (bottom - top) * (line.pitch - middle) / span
    return drawn


def _along(x: Array, y: Array, first: float, last: float) -> tuple[Array, Array]:
    at = np.linspace(first, max(last, first + 1.5), max(3, int((last - first) / 3)))
    return at, smooth(x, y, np.clip(at, x[0], x[-1]))


def _solid(line: _Line, x: Array, end: Array, top: float, bottom: float, cls: str) -> str:
    y, thick = _height(line, top, bottom), 2.5 + 11.5 * line.velocity / 127
    distinct = np.concatenate([[True], np.diff(x) > 1e-6])
    drawn = ""
    for first, last, stop in _pieces(line, x, end):
        at, height = _along(x[distinct], y[distinct], x[first], stop)
        width = np.interp(at, x, thick) if last > first else np.full(len(at), thick[first])
        if last > first and np.median(np.diff(x[first : last + 1])) < _CLOSE:
            drawn += _stroked(at, height, width, cls.replace("thread", "line"))
            continue
        drawn += ribbon(at, height, width, cls=cls, step=2.5, twist=False)
    return drawn


def _stroked(x: Array, y: Array, width: Array, cls: str) -> str:
    """A thread that turns within its own width, in short round strokes: its two edges would cross and fold."""
    level = np.round(2 * width) / 2
    firsts = np.concatenate([[0], np.flatnonzero(np.diff(level)) + 1])
    lasts = np.minimum(np.append(firsts[1:], len(x)), len(x) - 1)
    strokes = (
        path(cls, "M" + points(x[a : b + 1], y[a : b + 1]), stroke_width=float(level[a]))
        for a, b in zip(firsts, lasts, strict=True)
        if b > a
    )
    return "".join(strokes)


def _hollow(line: _Line, x: Array, end: Array, top: float, bottom: float, cls: str) -> str:
    y = _height(line, top, bottom)
    distinct = np.concatenate([[True], np.diff(x) > 1e-6])
    pieces = _pieces(line, x, end)
    return "".join(
        hollow(*_along(x[distinct], y[distinct], x[first], stop), 6.2, cls=cls, step=2.5) for first, _, stop in pieces
    )
