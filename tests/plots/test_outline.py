"""The shape alone: one closed outline a piece, inside its picture, never run together, at most eight bars."""

from __future__ import annotations

import re
from itertools import pairwise

import numpy as np
import pytest

from keysense.plots.frame import HandLine, Piece
from keysense.plots.outline import tune_shape
from keysense.plots.under import Drawn
from keysense.targets.target import Target


def drawn(pieces: list[Piece], bars: int = 8) -> Drawn:
    n = bars * 4
    target = Target.from_notes(
        onset_quarter=np.arange(n), duration_quarter=np.ones(n), pitch=np.full(n, 60), hand=["R"] * n,
        bars_quarter=np.arange(bars) * 4,
    )  # fmt: skip
    line = HandLine("R", tuple(pieces), np.arange(n, dtype=float), np.full(n, 60.0))
    return Drawn(target, (), (line,), ())


def piece(first: float, last: float, soft: float, loud: float) -> Piece:
    at = np.arange(first, last + 1e-9)
    return Piece(at, np.linspace(soft, loud, len(at)))


def boxes(svg: str, cls: str) -> list[tuple[float, float, float, float]]:
    found = []
    for d in re.findall(rf'class="{cls}"[^>]* d="([^"]+)"', svg):
        plain = re.sub(r"A[\d.]+ [\d.]+ 0 0 1 ", " ", d)
        at = np.array([float(said) for said in re.findall(r"-?[\d.]+", plain)]).reshape(-1, 2)
        found.append((*at.min(axis=0), *at.max(axis=0)))
    return found


@pytest.mark.parametrize("colour_in", [False, True])
def test_pieces_stay_inside_the_picture_and_apart(colour_in: bool) -> None:
    parts = [piece(0, 8, 1, 127), piece(8, 9, 127, 127), piece(9, 9.5, 60, 60), piece(16, 32, 127, 20)]
    svg = tune_shape(drawn(parts), "t", colour_in=colour_in)
    _, height = (float(said) for said in re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg).groups())  # type: ignore[union-attr]
    seen = sorted(boxes(svg, "colourin" if colour_in else "thread"))
    assert len(seen) == 4
    for x0, y0, x1, y1 in seen:
        assert 0 <= x0 < x1 <= 1000 and 0 <= y0 < y1 <= height
    assert all(left[2] < right[0] for left, right in pairwise(seen))


def test_loud_is_higher_and_thicker_whatever_else_is_played() -> None:
    soft, loud = boxes(tune_shape(drawn([piece(0, 8, 30, 30), piece(16, 24, 110, 110)]), "t"), "thread")
    assert loud[3] < soft[1]
    assert loud[3] - loud[1] > soft[3] - soft[1]
    alone = boxes(tune_shape(drawn([piece(0, 8, 30, 30)]), "t"), "thread")
    assert alone[0] == soft  # never stretched to fill


def test_a_long_tune_shows_the_eight_bars_from_where_the_playing_began() -> None:
    svg = tune_shape(drawn([piece(40, 48, 50, 60), piece(48, 60, 50, 60), piece(80, 90, 50, 60)], bars=40), "t")
    assert len(boxes(svg, "thread")) == 2


def test_without_a_loudness_there_is_no_shape() -> None:
    assert tune_shape(drawn([]), "t") == ""
