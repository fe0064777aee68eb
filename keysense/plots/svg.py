"""The sheet every picture is drawn on: numbers, paths and named pictures as SVG text.

Conventions
    x grows to the right and y downwards, in user units. Colours are never written here: classes of the style sheet
    carry them, so that light, dark, print and forced colours need no second drawing.
"""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

import numpy as np
import numpy.typing as npt

__all__ = ["Array", "circle", "decoration", "named", "path", "picture", "points", "rounded", "text"]

Array = npt.NDArray[np.float64]


def rounded(value: float) -> str:
    """A coordinate to a tenth of a unit, without a needless ``.0``."""
    said = f"{value:.1f}"
    return said[:-2] if said.endswith(".0") else said


def points(x: Iterable[float], y: Iterable[float]) -> str:
    """``x y x y …`` for a path."""
    # written out, not through `rounded`: a page holds tens of thousands of these
    return " ".join([f"{a:.1f} {b:.1f}" for a, b in zip(x, y, strict=True)]).replace(".0 ", " ")


def path(cls: str, d: str, **style: float | str) -> str:
    """One path of a class of the style sheet; ``stroke_width=3`` becomes a style property."""
    return f'<path class="{cls}"{_style(style)} d="{d}"/>'


def circle(cls: str, x: float, y: float, r: float, *, q: float | None = None, **style: float | str) -> str:
    """One dot. q: the quarter of the music it stands for, for a script to find it by."""
    at = "" if q is None else f' data-q="{q:.6g}"'
    return f'<circle class="{cls}"{_style(style)} cx="{rounded(x)}" cy="{rounded(y)}" r="{rounded(r)}"{at}/>'


def text(x: float, y: float, said: str, cls: str = "", anchor: str = "start", **style: float | str) -> str:
    """Words in a picture."""
    named_cls = f' class="{cls}"' if cls else ""
    placed = f'x="{rounded(x)}" y="{rounded(y)}" text-anchor="{anchor}"'
    return f"<text{named_cls} {placed}{_style(style)}>{escape(said)}</text>"


def named(title: str, body: str) -> str:
    """A part of a picture with its meaning in words."""
    return f"<g><title>{escape(title)}</title>{body}</g>"


def picture(width: float, height: float, body: str, title: str) -> str:
    """A whole picture with its meaning in words, for eyes and for screen readers alike."""
    said = escape(title)
    box = f'viewBox="0 0 {rounded(width)} {rounded(height)}"'
    return f'<svg {box} role="img" aria-label="{said}"><title>{said}</title>{body}</svg>'


def decoration(width: float, height: float, body: str, *, sized: bool = False) -> str:
    """A picture beside words that already say it all: hidden from screen readers. ``sized`` fixes it in px."""
    size = f' width="{rounded(width)}" height="{rounded(height)}"' if sized else ""
    box = f'viewBox="0 0 {rounded(width)} {rounded(height)}"'
    return f'<svg {box}{size} aria-hidden="true" focusable="false">{body}</svg>'


def _style(style: dict[str, float | str]) -> str:
    if not style:
        return ""
    said = ";".join(
        f"{name.replace('_', '-')}:{value if isinstance(value, str) else rounded(value)}"
        for name, value in style.items()
    )
    return f' style="{escape(said)}"'
