"""The loudness line: a thread a hand between this piano's softest and loudest, never stretched to fill.

Conventions
    Positions are quarters of the music or user units, as ``x_of`` maps them; heights are MIDI velocities. The phrase
    line is the thread, the notes are faint dots about it. What was asked lies behind as paper.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from keysense.plots.curve import smooth
from keysense.plots.frame import Frame, HandLine, Piece, Wedge
from keysense.plots.svg import Array, circle, path, picture, points, rounded, text
from keysense.plots.thread import hollow, hollow_snipped, ribbon, snipped
from keysense.plots.wished import WishedLine, wished_band

__all__ = ["leading", "loudness_body", "loudness_picture"]

_CLEARLY = (
    30.0  # steps of touch by which a hairpin's paper moves: clearly heard on any piano; common practice, no source
)
_LEAST = 4.0  # and by at least this, however near the thread was to the end of the scale
_SLANT = 0.42  # of its width, to either side, where a thread is only cut


def leading(lines: tuple[HandLine, ...]) -> tuple[HandLine, ...]:
    """The hand that carries the tune as a rule: two threads over each other are read by nobody at a distance."""
    right = tuple(line for line in lines if line.hand == "R")
    return right or lines[:1]


def loudness_picture(
    lines: Sequence[HandLine], frame: Frame, title: str, *, wedges: Sequence[Wedge] = (), cls: str = "",
    before: Sequence[HandLine] = (), wished: WishedLine | None = None,
) -> str:  # fmt: skip
    """One picture of `loudness_body`, with its meaning in words."""
    body = loudness_body(lines, frame, wedges=wedges, cls=cls, before=before, wished=wished)
    return picture(frame.width, frame.height, body, title)


def loudness_body(
    lines: Sequence[HandLine], frame: Frame, *, wedges: Sequence[Wedge] = (), cls: str = "",
    before: Sequence[HandLine] = (), wished: WishedLine | None = None,
) -> str:  # fmt: skip
    """Bounds, bar lines, paper, the left hand's hollow thread, the right hand's solid one, and the notes as dots.

    before: how it went the time before, as faint outlines behind. wished: the line drawn before playing; where there
    is one it is the paper, and no hairpin is.
    """
    body = _grounds(frame) + (_wedges_behind(wedges, frame) if wished is None else _wished(wished, frame))
    for line in before:
        body += "".join(_outline(shown, frame) for piece in line.pieces for shown in _inside(piece, frame))
    for line in sorted(lines, key=lambda hand_line: hand_line.hand != "L"):
        for piece in line.pieces:
            body += "".join(_thread(shown, line.hand, frame, cls) for shown in _inside(piece, frame))
    for line in lines:
        keep = np.zeros(len(line.dots_at), bool)
        for first, last in frame.spans:
            keep |= (line.dots_at >= first - 1e-6) & (line.dots_at < last - 1e-6)
        body += _dots(line.hand, line.dots_at[keep], line.dots[keep], frame)
    return body


def _dots(hand: str, at: Array, heights: Array, frame: Frame) -> str:
    """The notes of one hand; each dot knows its quarter, so that the place sounding can be shown on it."""
    rows = zip(at, frame.x_of(at), frame.y(heights), strict=True)
    drawn = "".join(circle("dot faint", x, y, frame.dot, q=float(quarter)) for quarter, x, y in rows)
    return f'<g data-hand="{hand}">{drawn}</g>' if drawn else ""


def _wedges_behind(wedges: Sequence[Wedge], frame: Frame) -> str:
    """Hairpins as paper, anchored where the thread was when they began: a hairpin has no height of its own."""
    return "".join(_wedge(wedge, frame, *span, _joins(wedge, wedges)) for wedge in wedges for span in frame.spans)


def _joins(wedge: Wedge, wedges: Sequence[Wedge]) -> tuple[bool, bool]:
    """Whether another paper ends where this one begins, and begins where it ends."""
    ends, starts = [other.end for other in wedges], [other.start for other in wedges]
    return bool(np.isclose(ends, wedge.start).any()), bool(np.isclose(starts, wedge.end).any())


def _wedge(wedge: Wedge, frame: Frame, first: float, last: float, joins: tuple[bool, bool]) -> str:
    """One paper, as far as this span shows it; a little apart from the paper it meets, so that both keep their edge."""
    start, end = max(wedge.start, first), min(wedge.end, last)
    if end <= start:
        return ""
    share = (np.array([start, end]) - wedge.start) / (wedge.end - wedge.start)
    centre = wedge.heard_at_start + _moves(wedge, frame) * share
    open_by = frame.mouth * (share if wedge.grows else 1 - share) + 1.0
    x = frame.x_of(np.array([start, end])) + frame.thick * 0.16 * np.array([joins[0], -joins[1]])
    upper, lower = frame.y(centre + open_by), frame.y(centre - open_by)
    return path("paper", f"M{points(x, upper)}L{points(x[::-1], lower[::-1])}Z")


def _moves(wedge: Wedge, frame: Frame) -> float:
    """By how much the middle of the paper moves: near its loudest or softest less, so that it keeps its shape there."""
    if wedge.grows:
        return max(_LEAST, min(_CLEARLY, frame.bounds.loud - frame.mouth - wedge.heard_at_start))
    return -max(_LEAST, min(_CLEARLY, wedge.heard_at_start - frame.bounds.soft))


def _grounds(frame: Frame) -> str:
    left, right = rounded(frame.left), rounded(frame.width - frame.right)
    top, bottom = (rounded(float(frame.y(v))) for v in (frame.bounds.loud, frame.bounds.soft))
    drawn = path("bound", f"M{left} {top}H{right}M{left} {bottom}H{right}")
    drawn += "".join(path("bar", f"M{rounded(x)} {top}V{bottom}") for x in frame.bars)
    if frame.words is not None:
        loud, soft, size = frame.words
        x, anchor, style = frame.words_end or 0.0, "start" if frame.words_end is None else "end", f"{rounded(size)}px"
        drawn += text(x, float(frame.y(frame.bounds.loud)) + size * 0.35, loud, "s", anchor, font_size=style)
        drawn += text(x, float(frame.y(frame.bounds.soft)) + size * 0.3, soft, "s", anchor, font_size=style)
    return drawn


def _inside(piece: Piece, frame: Frame) -> list[Piece]:
    """The parts of a piece that this frame shows, cut at the ends of its spans."""
    parts = []
    for span in frame.spans:
        first, last = max(piece.position[0], span[0]), min(piece.position[-1], span[1])
        if last - first < 1e-6:
            continue
        between = (piece.position > first) & (piece.position < last)
        position = np.concatenate([[first], piece.position[between], [last]])
        to = piece.to if piece.to is not None and piece.to <= span[1] + 1e-6 else None
        parts.append(Piece(position, smooth(piece.position, piece.line, position), piece.apart, to))
    return parts


def _wished(wished: WishedLine, frame: Frame) -> str:
    drawn = ""
    for first, last in frame.spans:
        at = np.linspace(max(first, wished.span[0]), min(last, wished.span[1]), 120)
        if at[-1] > at[0]:
            heights = wished.velocity(at, frame.bounds.soft, frame.bounds.loud)
            drawn += wished_band(frame.x_of(at), frame.y(heights), frame.thick * 1.25)
    return drawn


def _outline(piece: Piece, frame: Frame) -> str:
    """One piece of the thread as it was before: no thread, only where it lay."""
    x, y, line = _drawn(piece, frame)
    return "" if len(x) < 2 else ribbon(x, y, frame.thickness(line), cls="before", twist=False)


def _drawn(piece: Piece, frame: Frame) -> tuple[Array, Array, Array]:
    """x and y along a piece, always going forward, and the phrase line there."""
    at = np.linspace(piece.position[0], piece.position[-1], max(4, 3 * len(piece.position)))
    line = smooth(piece.position, piece.line, at)
    x, y = frame.x_of(at), frame.y(line)
    forward = np.concatenate([[True], np.diff(x) > 1e-6])
    return x[forward], y[forward], line[forward]


def _thread(piece: Piece, hand: str, frame: Frame, cls: str) -> str:
    x, y, line = _drawn(piece, frame)
    if len(x) < 2:
        return ""
    if frame.cut and piece.to is not None:
        x[-1] = max(x[-1], float(frame.x_of(np.array([piece.to]))[0]) - frame.cut)
    cut = bool(frame.cut) and (piece.to is not None or piece.apart)
    if hand == "L":
        draw_left = hollow_snipped if cut else hollow
        return draw_left(x, y, frame.thick * 0.55, cls=f"line {cls}".strip())
    if cut:
        return snipped(x, y, frame.thickness(line), cls=f"thread {cls}".strip(), slant=_SLANT)
    if piece.apart:
        return snipped(x, y, frame.thickness(line), cls=f"thread {cls}".strip())
    return ribbon(*_within(x, y, frame.thickness(line)), cls=f"thread {cls}".strip())


def _within(x: Array, y: Array, width: Array) -> tuple[Array, Array, Array]:
    """The same thread with its round ends inside its own length: where it breaks, a break is seen."""
    first, last = x[0] + width[0] / 2, x[-1] - width[-1] * 0.62
    if last - first < max(width[0], width[-1]) / 2:
        return x, y, width
    at = np.concatenate([[first], x[(x > first) & (x < last)], [last]])
    return at, smooth(x, y, at), np.interp(at, x, width)
