"""The sign language: outcome signs, the marks of the heard lane, the thread of the page's head."""

from __future__ import annotations

from functools import cache
from typing import Literal

import numpy as np

from keysense.plots.spindle import spindle
from keysense.plots.svg import Array, decoration, path, rounded, text
from keysense.plots.thread import hollow, ribbon, snipped, unplied

__all__ = ["MarkName", "choice", "head_thread", "key_sign", "lane_mark", "outcome_sign", "plain_sign"]

MarkName = Literal["other", "wait", "gap", "extra", "unsure"]

_PAPER = path("paper", "M6 22L70 6V38Z")


def _array(*values: float) -> Array:
    return np.array(values, dtype=float)


@cache
def outcome_sign(outcome: str, cls: str = "") -> str:
    """Paper is what was asked, thread is what was heard; 76 by 44, always beside its words."""
    thread = f"thread {cls}".strip()
    if outcome == "asked and heard":
        body = _PAPER + ribbon(
            _array(4, 28, 52, 68), _array(22.5, 22.3, 22, 22), _array(3, 5, 8, 11), cls=thread, step=3
        )
    elif outcome == "asked, not yet heard":
        body = _PAPER
    elif outcome == "asked, the other way came":
        body = _PAPER + ribbon(_array(9, 30, 52, 71), _array(22, 22, 22, 22), _array(12, 8, 5, 3), cls=thread, step=3)
    elif outcome == "heard, not asked":
        body = ribbon(_array(4, 26, 50, 70), _array(30, 26, 21, 16), _array(3.5, 5, 7.5, 10), cls=thread, step=3)
    elif outcome == "can't tell yet":
        body = _PAPER + unplied(_array(4, 38, 72), _array(22, 22, 22), cls=f"line {cls}".strip(), amplitude=7)
    else:
        raise KeyError(f"no sign stands for {outcome!r}")
    return decoration(76, 44, body)


@cache
def plain_sign(known: bool, cls: str = "") -> str:
    """Nothing was asked: a level thread where something was heard, one come apart where nobody can tell."""
    along, height = _array(6, 38, 70), _array(24, 21, 23)
    if not known:
        return decoration(76, 44, unplied(along, height, cls=f"line {cls}".strip(), amplitude=6))
    return decoration(76, 44, ribbon(along, height, _array(5, 6, 5), cls=f"thread {cls}".strip(), step=3, twist=False))


def lane_mark(name: MarkName, x: float, y: float, scale: float = 1.0, letter: str = "") -> str:
    """One mark of the heard lane, centred on a notehead's x; the cup of a wait lies in front of it."""
    g = 18 * scale
    stroke = 3 * scale
    if name == "other":
        return _tab(x, y, g) + _letter(x, y + g * 0.62, letter, 29 * scale if len(letter) < 2 else 23 * scale)
    if name == "extra":
        arm = rounded(g * 1.1)
        plus = f"M{rounded(x - g * 0.55)} {rounded(y)}h{arm}M{rounded(x)} {rounded(y - g * 0.55)}v{arm}"
        return _tab(x, y, g) + path("mark", plus, stroke_width=stroke)
    if name == "gap":
        ticks = "".join(f"M{rounded(x + k * g * 0.8)} {rounded(y - g)}v{rounded(2 * g)}" for k in (-1, 1))
        return path("mark", ticks, stroke_width=stroke)
    if name == "wait":
        top = rounded(y - g * 0.7)
        left, middle, right = (rounded(x - k * scale) for k in (58, 34, 10))
        return path("mark", f"M{left} {top}Q{middle} {rounded(y + g * 1.5)} {right} {top}", stroke_width=stroke)
    slants = "".join(
        f"M{rounded(x - g * 1.4 + k * g * 0.8)} {rounded(y + g)}l{rounded(g * 0.8)} {rounded(-2 * g)}" for k in range(3)
    )
    return path("mark", slants, stroke_width=2.8 * scale) + _letter(x + g * 1.7, y + g * 0.66, "?", 33 * scale)


@cache
def key_sign(name: str) -> str:
    """A small sign for the key under the music, sized in px; ``another``: a note of which no letter is known."""
    if name in ("other", "wait", "gap", "extra", "unsure"):
        x, scale = {"wait": (46.0, 0.72), "unsure": (15.0, 0.5)}.get(name, (21.0, 0.8))
        return decoration(44, 36, lane_mark(name, x, 18, scale, "E"), sized=True)  # type: ignore[arg-type]
    if name == "another":
        head = path("dot", "M14 20a7 5 0 1 0 14-4a7 5 0 1 0-14 4Z")
        return decoration(44, 36, _tab(21, 18, 14.4) + head, sized=True)
    flat = _array(6, 6)
    if name == "right":
        return decoration(46, 12, ribbon(_array(4, 42), flat, _array(6, 9), step=4), sized=True)
    if name == "left":
        return decoration(46, 12, hollow(_array(5, 41), flat, 7), sized=True)
    if name == "apart":
        pieces = (snipped(_array(3 + k * 15, 12 + k * 15), flat, _array(8, 8), step=3) for k in range(3))
        return decoration(46, 12, "".join(pieces), sized=True)
    if name == "spindle":
        return decoration(60, 16, path("bound", "M2 8H58") + spindle(8, 26, 52, 8, width=12), sized=True)
    return decoration(46, 16, path("paper", "M3 8L43 2V14Z"), sized=True)


@cache
def choice(name: str) -> str:
    """The picture on a slip of a question: where did the tune grow, or which of two takes was louder?"""
    if name in ("first", "second", "alike"):
        return decoration(240, 64, _pair(name))
    drawn = {
        "middle": ((6, 70, 120, 170, 234), (50, 46, 18, 46, 50), (4, 6, 16, 6, 4)),
        "end": ((6, 90, 170, 232), (52, 46, 30, 14), (4, 6, 11, 18)),
        "same": ((6, 80, 160, 234), (34, 33, 35, 34), (8, 8, 8, 8)),
    }[name]
    return decoration(240, 64, ribbon(*(np.array(part, float) for part in drawn), step=4))


def _pair(louder: str) -> str:
    """Two takes over each other, the louder one thick: the first whole, the second snipped."""
    first, second = {"first": (18.0, 6.0), "second": (6.0, 18.0), "alike": (11.0, 11.0)}[louder]
    body = ribbon(_array(10, 120, 230), _array(19, 17, 19), np.full(3, first), step=4)
    for k in range(7):
        x = 8 + k * 32.5
        body += snipped(_array(x, x + 22), _array(47, 47), np.full(2, second), cls="thread b", step=3)
    return body


def head_thread(state: Literal["listening", "cut", "plain"]) -> str:
    """The loop of the head's thread: an ear while listening, cut while not; nothing otherwise."""
    if state == "plain":
        return ""
    loop = "M0 26C22 26 47 27 50 13C51.5 4 41 1 36 7C31 13 38 26 74 26"
    ends = "M0 26C8 26 14 27 18 31M74 26C66 26 60 27 55 30"
    body = path("line", loop if state == "listening" else ends, stroke_width=3.5, stroke_linecap="butt")
    return decoration(74, 34, body, sized=True)


def _tab(x: float, y: float, g: float) -> str:
    side = rounded(2 * g)
    return path("tab", f"M{rounded(x - g)} {rounded(y - g)}h{side}v{side}h-{side}Z")


def _letter(x: float, y: float, said: str, size: float) -> str:
    return text(x, y, said, anchor="middle", font_weight="700", font_size=f"{rounded(size)}px")
