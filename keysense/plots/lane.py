"""The heard lane: a strip of its own under each line of music, right hand above, left below.

The engraved notes stay untouched. Nothing in the lane means: as written.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from keysense.plots.signs import MarkName, lane_mark
from keysense.plots.svg import named, path, picture, rounded

__all__ = ["Heard", "heard_lane"]

_HEIGHT, _RIGHT, _LEFT = 108.0, 28.0, 80.0


@dataclass(frozen=True)
class Heard:
    """One mark: which, at which notehead's x in user units, of which hand, and its meaning in words."""

    name: MarkName
    x: float
    hand: str
    title: str
    letter: str = ""


def heard_lane(marks: Sequence[Heard], width: float, title: str, *, scale: float = 1.0) -> str:
    """The strip for one system of ``width`` user units; ``title`` says it all in words."""
    height, middle = _HEIGHT * scale, _HEIGHT * scale / 2
    body = f'<rect class="strip" x="10" y="1" width="{rounded(width - 20)}" height="{rounded(height - 2)}"/>'
    body += path("bar", f"M10 {rounded(middle)}H{rounded(width - 10)}")
    for mark in marks:
        y = (_LEFT if mark.hand == "L" else _RIGHT) * scale
        x = mark.x + (38 * scale if mark.name == "extra" else 0.0)
        body += named(mark.title, lane_mark(mark.name, x, y, scale, mark.letter))
    return picture(width, height, body, title)
