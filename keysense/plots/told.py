"""The shape of a tune in words, bar by bar: what the loudness picture shows, for those who do not see it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

import numpy as np

from keysense.finding import Place
from keysense.plots.frame import Bounds, HandLine
from keysense.plots.loudness import leading
from keysense.plots.under import Drawn
from keysense.words.catalogue import word
from keysense.words.figures import place_words

__all__ = ["loudness_word", "shape_rows", "shape_said"]

_STEPS = ("very_soft", "soft", "middle", "loud", "very_loud")


def loudness_word(velocity: float, bounds: Bounds) -> str:
    """One of five words for a height between this piano's softest and loudest, each a fifth of the way."""
    share = np.clip((velocity - bounds.soft) / (bounds.loud - bounds.soft), 0.0, 0.999)
    return word(f"loudness.{_STEPS[int(share * len(_STEPS))]}")


def shape_rows(drawn: Drawn) -> list[tuple[str, ...]]:
    """A row a bar: its number, how loud it was, and, where it was played before, how loud then."""
    rows = []
    now, before = leading(drawn.lines), leading(drawn.before)
    for bar in drawn.target.bars:
        first, last = float(bar["start_quarter"]), float(bar["start_quarter"] + bar["length_quarter"])
        said = [_in_bar(lines, first, last, drawn.bounds) for lines in ((now, before) if before else (now,))]
        rows.append((str(int(bar["number"])), *said))
    return rows


def shape_said(drawn: Drawn, first: float, last: float) -> str:
    """The shape between two quarters in one line: bars 1 to 4 soft, bars 5 and 6 loud; empty of a silence."""
    now, said = leading(drawn.lines), []
    bars = [bar for bar in drawn.target.bars if first - 1e-6 <= bar["start_quarter"] < last - 1e-6]
    ends = [(float(bar["start_quarter"]), float(bar["start_quarter"] + bar["length_quarter"])) for bar in bars]
    heard = [_in_bar(now, *span, drawn.bounds) for span in ends]
    for how, run in groupby(range(len(bars)), key=heard.__getitem__):
        rows = list(run)
        if how != word("table.none"):
            place = place_words(Place((int(bars[rows[0]]["number"]), int(bars[rows[-1]]["number"]))))
            said.append(word("shape.run", place=place, how=how))
    return ", ".join(said)


def _in_bar(lines: Sequence[HandLine], first: float, last: float, bounds: Bounds) -> str:
    """The middle of the phrase line in one bar, in a word; a dash where nothing was heard."""
    heights = [
        float(height)
        for line in lines
        for piece in line.pieces
        for at, height in zip(piece.position.tolist(), piece.line.tolist(), strict=True)
        if first - 1e-6 <= at < last - 1e-6
    ]
    return loudness_word(float(np.median(heights)), bounds) if heights else word("table.none")
