"""Heard is thread: thick where loud, snipped where apart, hollow for the left hand, come apart where nobody can tell.

Conventions
    x, y and width are arrays of equal length in user units; x increases. ``cls`` is ``thread`` with ``b`` for the take
    beside it and ``c`` for the teacher's own playing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from keysense.plots.curve import enough, smooth
from keysense.plots.svg import Array, path, points, rounded

__all__ = ["THINNEST_TWIST", "hollow", "hollow_snipped", "ribbon", "snipped", "unplied"]

THINNEST_TWIST = 9.0  # user units; thinner thread shows no twist: the lines would only be dirt


@dataclass(frozen=True)
class _Body:
    """The thread's middle and its two edges."""

    x: Array
    y: Array
    width: Array
    normal_x: Array
    normal_y: Array

    def edge(self, side: float) -> tuple[Array, Array]:
        """The upper (-1) or lower (+1) edge, or a line between them."""
        half = side * self.width / 2
        return self.x + self.normal_x * half, self.y + self.normal_y * half


def ribbon(x: Array, y: Array, width: Array, *, cls: str = "thread", step: float = 6.0, twist: bool = True) -> str:
    """A whole thread, round at its ends, with the twist drawn on it where it is thick enough."""
    body = _body(x, y, width, step)
    upper, lower = body.edge(-1), body.edge(1)
    few = enough(*upper, *lower)
    upper, lower = (upper[0][few], upper[1][few]), (lower[0][few], lower[1][few])
    last, first = rounded(body.width[-1] / 2), rounded(body.width[0] / 2)
    d = "M" + points(*upper)
    d += f"A{last} {last} 0 0 1 {points(lower[0][-1:], lower[1][-1:])}"
    d += "L" + points(lower[0][::-1], lower[1][::-1])
    d += f"A{first} {first} 0 0 1 {points(upper[0][:1], upper[1][:1])}Z"
    drawn = path(cls, d)
    return drawn + _twist(body) if twist and body.width.max() >= THINNEST_TWIST else drawn


def snipped(x: Array, y: Array, width: Array, *, cls: str = "thread", step: float = 6.0, slant: float = 0.12) -> str:
    """One piece of thread cut on the slant at both ends, by so much of its width: a note let go before the next."""
    body = _body(x, y, width, step)
    drawn = path(cls, _cut_edge(body, slant))
    return drawn + _cut_twist(body) if body.width.max() >= THINNEST_TWIST else drawn


def hollow_snipped(x: Array, y: Array, width: float, *, cls: str = "line", step: float = 6.0) -> str:
    """A piece of the left hand's thread, cut on the slant at both ends."""
    wall = 0.26 * width
    body = _body(x, y, np.full(len(x), width - wall), step)
    return path(f"{cls} cut", _cut_edge(body, 0.6), stroke_width=wall)


def _cut_edge(body: _Body, slant: float) -> str:
    by = slant * body.width
    (ux, uy), (lx, ly) = body.edge(-1), body.edge(1)
    few = enough(ux + by, uy, lx - by, ly)
    return f"M{points((ux + by)[few], uy[few])}L{points((lx - by)[few][::-1], ly[few][::-1])}Z"


def hollow(x: Array, y: Array, width: float, *, cls: str = "line", step: float = 6.0) -> str:
    """The left hand's thread: an outline with the ground showing through."""
    at = _steps(x, step)
    height = smooth(x, y, at)
    few = enough(height)
    d = "M" + points(at[few], height[few])
    return path(cls, d, stroke_width=width) + path("core", d, stroke_width=width * 0.48)


def unplied(x: Array, y: Array, *, cls: str = "line", amplitude: float = 6.0, stroke: float = 1.7) -> str:
    """The thread come apart into three strands: nobody can tell."""
    at = _steps(x, 3.0)
    height = smooth(x, y, at)
    swell = np.sin(np.pi * (at - at[0]) / (at[-1] - at[0]))
    strands = (height + k * amplitude * swell * (1 + 0.25 * np.sin(at / 17 + k * 2)) for k in (-1, 0, 1))
    return "".join(path(cls, "M" + points(at, strand), stroke_width=stroke) for strand in strands)


def _steps(x: Array, step: float) -> Array:
    return np.linspace(x[0], x[-1], max(3, int((x[-1] - x[0]) / step) + 1))


def _body(x: Array, y: Array, width: Array, step: float) -> _Body:
    at = _steps(x, step)
    height, thick = smooth(x, y, at), smooth(x, width, at)
    slope = _calmed(np.gradient(height, at), at, thick)
    length = np.hypot(1.0, slope)
    return _Body(at, height, thick, -slope / length, 1 / length)


def _calmed(slope: Array, x: Array, width: Array) -> Array:
    """The slope averaged over about one width, so that a thick thread does not fold over itself."""
    window = max(1, int(width.mean() * 1.1 / max(0.5, x[1] - x[0]))) | 1
    if window < 3 or len(x) <= window:
        return slope
    weight = np.hanning(window + 2)[1:-1]
    return np.convolve(np.pad(slope, window // 2, mode="edge"), weight / weight.sum(), "valid")


def _twist(body: _Body) -> str:
    """Short curves across the thread, set about two thirds of its width apart, where it is thick enough."""
    along = _along(body)
    where = _places(body, along)
    return _plies(body, along, where, 0.34 * np.interp(where, along, body.width)) if len(where) else ""


def _cut_twist(body: _Body) -> str:
    """The same on a cut piece: evenly between its two ends, and one at least, however short it is."""
    along = _along(body)
    length, wide = float(along[-1]), float(body.width.mean())
    where = np.linspace(0.0, length, max(1, round(length / (0.6 * wide)) - 1) + 2)[1:-1]
    return _plies(body, along, where, np.minimum(0.34 * wide, np.minimum(where, length - where) * 0.6))


def _along(body: _Body) -> Array:
    total: Array = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(body.x), np.diff(body.y)))])
    return total


def _plies(body: _Body, along: Array, where: Array, reach: Array) -> str:
    stops = np.clip(where[:, None] + reach[:, None] * np.array([-1.0, -0.45, 0.45, 1.0]), 0.0, along[-1])
    half = np.array([0.97, 0.55, -0.55, -0.97]) * np.interp(stops, along, body.width) / 2
    x = np.interp(stops, along, body.x) + np.interp(stops, along, body.normal_x) * half
    y = np.interp(stops, along, body.y) + np.interp(stops, along, body.normal_y) * half
    # from its own start each: half as many letters, and a page holds a thousand of them
    reach_x, reach_y = x[:, 1:] - x[:, :1], y[:, 1:] - y[:, :1]
    rows = zip(x[:, :1], y[:, :1], reach_x, reach_y, strict=True)
    d = "".join(f"M{points(x0, y0)}c{points(dx, dy)}" for x0, y0, dx, dy in rows)
    return path("twist", d, stroke_width=max(1.1, float(body.width.mean()) * 0.07))


def _places(body: _Body, along: Array) -> Array:
    """Where along the thread its twist is drawn."""
    where, places = float(body.width[0]) * 0.75, []
    last = float(along[-1] - body.width[-1] * 0.45)
    while where < last:
        wide = float(np.interp(where, along, body.width))
        if wide >= THINNEST_TWIST:
            places.append(where)
        where += max(4.5, wide * 0.6)
    return np.array(places)
