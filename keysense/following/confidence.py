"""How far a following is to be believed, and when the place was lost."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.choose import Reading
from keysense.following.following import MATCH
from keysense.following.passes import Stretch
from keysense.notes import Take
from keysense.targets.target import Target

__all__ = ["confidence_of", "lost"]


def confidence_of(
    target: Target, take: Take, pairs: npt.NDArray[np.void], parts: list[Stretch], reading: Reading
) -> float:
    """0..1 from the value of the path for each press."""
    n = len(take.notes)
    matched = int((pairs["kind"] == MATCH).sum())
    per_press = reading.value / (c.RIGHT * n)
    share = matched / n
    evidence = 1.0 - np.exp(-reading.value / 12.0)
    return float(np.clip((0.5 * per_press + 0.5 * share) * evidence, 0.0, 1.0))


def lost(confidence: float) -> bool:
    """Below the limit nothing may be concluded."""
    return confidence < c.CONFIDENCE_LIMIT
