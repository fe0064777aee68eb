"""The units a finding may carry, and the few conversions between them."""

from __future__ import annotations

from typing import Literal, get_args

__all__ = ["UNITS", "Hand", "Unit", "qpm_from_period_s"]

Unit = Literal["quarters/min", "%", "ms", "velocity", "1", "count", "quarters"]
Hand = Literal["R", "L"]

UNITS: tuple[Unit, ...] = get_args(Unit)


def qpm_from_period_s(period_s: float) -> float:
    """Quarters a minute from the seconds one quarter lasts."""
    return 60.0 / period_s
