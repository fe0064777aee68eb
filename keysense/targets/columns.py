"""What a target is made of, column by column: checked as it comes in, so that a slip is named where it was made."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from keysense.errors import TargetError
from keysense.notes import finite_column

__all__ = ["BAR", "HANDS", "SPREAD", "TARGET_NOTE"]

TARGET_NOTE = np.dtype(
    [
        ("onset_quarter", "f8"),
        ("duration_quarter", "f8"),
        ("pitch", "u1"),
        ("hand", "U1"),
        ("voice", "i2"),
        ("bar", "i4"),
        ("finger", "i1"),
        ("is_grace", "?"),
        ("id", "U64"),
    ]
)
BAR = np.dtype([("number", "i4"), ("start_quarter", "f8"), ("length_quarter", "f8")])
_SPREAD = ("timing_ratio", "timing_spread", "velocity", "velocity_spread", "hold_ratio", "hold_spread")
SPREAD = np.dtype([("takes", "i4"), *((name, "f8") for name in _SPREAD)])
HANDS = ("R", "L", "")


def numbers(name: str, values: npt.ArrayLike, n: int) -> npt.NDArray[np.float64]:
    """A column of ``n`` finite numbers, or TargetError."""
    column = finite_column(name, values, TargetError)
    listed(name, column, n)
    return column


def lengths(name: str, values: npt.ArrayLike, n: int) -> npt.NDArray[np.float64]:
    """A column of ``n`` numbers that are not below zero, or TargetError."""
    column = numbers(name, values, n)
    for row in np.flatnonzero(column < 0)[:1]:
        raise TargetError(
            f"{name}[{row}] is {column[row]:g}: a note lasts no less than nothing; give its length in quarters"
        )
    return column


def listed(name: str, values: Any, n: int) -> Any:
    """The same values if there are ``n``, or TargetError."""
    if len(values) != n:
        raise TargetError(f"{name} has {len(values)} rows where onset_quarter has {n}: give one value a note")
    return values


def hands(hand: Sequence[str | None] | npt.NDArray[Any] | None, n: int) -> list[str]:
    """The hand of each note, "" for none, or TargetError."""
    if hand is None:
        return [""] * n
    said = [str(h or "") for h in listed("hand", hand, n)]
    for row, one in enumerate(said):
        if one not in HANDS:
            raise TargetError(f'hand[{row}] is {one!r}: say "R", "L" or None')
    return said


def graces(is_grace: npt.ArrayLike | None, n: int) -> npt.NDArray[np.bool_]:
    """Whether each note is a grace note, or TargetError: the word "False" would count as yes."""
    column = np.zeros(n, bool) if is_grace is None else np.asarray(listed("is_grace", np.atleast_1d(is_grace), n))
    if column.dtype.kind not in "biuf" and n:
        raise TargetError(f"is_grace is {column[0]!r}: give True or False a note")
    return column.astype(bool)


def phrases(spans: npt.ArrayLike | None) -> npt.NDArray[np.float64]:
    """Rows of start and end in quarters, or TargetError."""
    ask = "phrases must be rows of two numbers: where each starts and ends, in quarters"
    try:
        rows = np.zeros((0, 2)) if spans is None else np.asarray(spans, float)
    except (TypeError, ValueError) as cause:
        raise TargetError(ask) from cause
    if rows.size and (rows.ndim != 2 or rows.shape[1] != 2 or not np.isfinite(rows).all()):
        raise TargetError(ask)
    rows = rows.reshape(-1, 2)
    for row in np.flatnonzero(rows[:, 1] <= rows[:, 0])[:1]:
        start, end = rows[row]
        raise TargetError(f"phrases[{row}] goes from {start:g} to {end:g}: let each end after it starts, in quarters")
    return rows


def tempo(tempo_qpm: float | None) -> float | None:
    """Quarters a minute above zero, None for none, or TargetError."""
    if tempo_qpm is None:
        return None
    if not isinstance(tempo_qpm, int | float | np.number) or not 0 < tempo_qpm < np.inf:
        raise TargetError(f"tempo_qpm is {tempo_qpm!r}: give quarters a minute, or None where none is written")
    return float(tempo_qpm)


def bars(
    onset: npt.NDArray[np.float64],
    duration: npt.NDArray[np.float64],
    bars_quarter: npt.ArrayLike | None,
    bar: npt.NDArray[np.int32] | None = None,
) -> npt.NDArray[np.void]:
    """Bars from their starts; else from the first note of each bar named; else of four quarters from zero."""
    end = float((onset + duration).max()) if len(onset) else 0.0
    named = None
    if bars_quarter is None and bar is not None and len(bar):
        named = np.unique(bar)
        starts = np.array([onset[bar == number].min() for number in named])
        named, starts = named[np.argsort(starts, kind="stable")], np.sort(starts)
    elif bars_quarter is None:
        first = min(0.0, 4.0 * np.floor(float(onset.min()) / 4.0)) if len(onset) else 0.0
        starts = np.arange(first, max(end, first + 4.0), 4.0)
    else:
        starts = np.sort(finite_column("bars_quarter", bars_quarter, TargetError))
    rows = np.zeros(len(starts), BAR)
    rows["number"] = np.arange(1, len(starts) + 1) if named is None else named
    rows["start_quarter"] = starts
    if len(starts):
        usual = float(np.median(np.diff(starts))) if len(starts) > 1 else 4.0
        rows["length_quarter"] = np.append(np.diff(starts), usual)
    return rows


def bar_of(onset: npt.NDArray[np.float64], bars: npt.NDArray[np.void]) -> npt.NDArray[np.int32]:
    """The number of the bar each onset lies in."""
    row = np.clip(np.searchsorted(bars["start_quarter"], onset + 1e-9, side="right") - 1, 0, None)
    found: npt.NDArray[np.int32] = bars["number"][row] if len(bars) else np.ones(len(onset), np.int32)
    return found
