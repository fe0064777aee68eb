"""Likely between: a spindle, widest where the value most likely lies, its ends at the ends of the likely range."""

from __future__ import annotations

from keysense.plots.svg import path, rounded

__all__ = ["spindle"]

_TIP = 1.3  # half the width at the ends, so that they stay seen


def spindle(
    low: float, value: float, high: float, across: float, *, width: float = 14.0, upright: bool = False,
    cls: str = "thread",
) -> str:  # fmt: skip
    """Lying along x from ``low`` to ``high`` at height ``across``; ``upright`` stands it along y instead."""

    def at(along: float, away: float) -> str:
        a, b = (across + away, along) if upright else (along, across + away)
        return f"{rounded(a)} {rounded(b)}"

    half = width / 2
    near, far = value - (value - low) * 0.3, value + (high - value) * 0.3
    before, after = (low + value) / 2, (high + value) / 2
    d = f"M{at(low, -_TIP)}C{at(before, -_TIP - 0.6)} {at(near, -half)} {at(value, -half)}"
    d += f"C{at(far, -half)} {at(after, -_TIP - 0.6)} {at(high, -_TIP)}L{at(high, _TIP)}"
    d += f"C{at(after, _TIP + 0.6)} {at(far, half)} {at(value, half)}"
    d += f"C{at(near, half)} {at(before, _TIP + 0.6)} {at(low, _TIP)}Z"
    return path(cls, d)
