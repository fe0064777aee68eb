"""Where a loudness picture lies and what is laid into it: its bounds, its threads, its paper.

Conventions
    Positions are quarters of the music or user units, as ``x_of`` maps them; heights are MIDI velocities.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from keysense.plots.svg import Array

__all__ = ["Bounds", "Frame", "HandLine", "Piece", "Wedge", "thick_of"]

_SWELL = 1.5  # what is played lies about the middle of a piano's touch; in a straight measure it would look alike


@dataclass(frozen=True)
class Bounds:
    """This piano's softest and loudest touch; all that MIDI can say until the piano has been surveyed."""

    soft: float = 1.0
    loud: float = 127.0


@dataclass(frozen=True)
class Piece:
    """One unbroken piece of thread: where its notes begin and where it ends, and the phrase line at each of them.

    apart: one note, let go before the next. to: where the next piece begins, where the phrase goes on after the cut.
    """

    position: Array
    line: Array
    apart: bool = False
    to: float | None = None


@dataclass(frozen=True)
class HandLine:
    """One hand: its pieces of thread, and its notes as dots."""

    hand: str
    pieces: tuple[Piece, ...]
    dots_at: Array
    dots: Array


@dataclass(frozen=True)
class Wedge:
    """A hairpin of the page: from where to where, the loudness heard at its start, whether it grows, and whose."""

    start: float
    end: float
    heard_at_start: float
    grows: bool
    hand: str = ""


@dataclass(frozen=True)
class Frame:
    """Where a picture lies: its size, how positions become x, what it may show of the music, and its bar lines.

    spans: the stretches of positions it shows, in order; what lies outside is cut off. thin, thick: the thread at this
    piano's softest and loudest, in user units. top: where it begins from above. mouth: half the height of a hairpin's
    open end, in steps of touch. cut: how wide a cut shows a note let go, in user units; where 0 the thread is as long
    as the note was held. words_end: where the words of its two bounds end; where None they begin at the left.
    """

    width: float
    height: float
    x_of: Callable[[Array], Array]
    spans: tuple[tuple[float, float], ...]
    bars: Sequence[float] = ()
    left: float = 10.0
    right: float = 10.0
    thick: float = 22.0
    thin: float = 3.0
    dot: float = 3.4
    words: tuple[str, str, float] | None = None
    words_end: float | None = None
    bounds: Bounds = Bounds()
    top: float = 0.0
    mouth: float = 16.0
    cut: float = 0.0

    def y(self, velocity: Array | float) -> Array:
        """The height of a velocity; outside the bounds it stays on them."""
        share = (np.asarray(velocity, float) - self.bounds.soft) / (self.bounds.loud - self.bounds.soft)
        margin = max(min(16.0, self.height * 0.1), min(self.thick * 0.4, self.height * 0.1))
        drawn: Array = self.top + self.height - margin - (self.height - 2 * margin) * np.clip(share, 0.0, 1.0)
        return drawn

    def thickness(self, velocity: Array) -> Array:
        """How thick the thread is, from the thinnest when softest to the widest when loudest."""
        return thick_of(velocity, self.bounds, self.thin, self.thick)


def thick_of(velocity: Array, bounds: Bounds, thin: float, thick: float) -> Array:
    """How thick a thread is drawn: it swells the more, the louder it is, so that a room sees what an ear hears."""
    share = np.clip((velocity - bounds.soft) / (bounds.loud - bounds.soft), 0.0, 1.0)
    drawn: Array = thin + (thick - thin) * share**_SWELL
    return drawn
