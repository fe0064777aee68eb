"""Touch between 0 and 1, whatever numbers a piano sends for it.

Conventions
    A piano's velocities for the teacher's soft, middle and loud touch stand at .2, .5 and .8; nothing at all is 0 and
    the largest number there can be is 1. Between them a curve that never turns (monotone cubic). Raw velocities are
    always kept: a take on the touch scale is another take, with velocity 127 * touch.

Findings
    None of its own: the scale that surveyed pianos share.

References
    Monotone cubic interpolation: Fritsch & Carlson 1980 (memory). The places .2, .5, .8: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from keysense.notes import Take

__all__ = ["STRENGTHS", "TouchCurve", "on_touch_scale"]

Floats = npt.NDArray[np.float64]
STRENGTHS = {"soft": 0.2, "middle": 0.5, "loud": 0.8}
_LOUDEST = 127.0


@dataclass(frozen=True)
class TouchCurve:
    """The velocities that one piano sends for the teacher's soft, middle and loud touch, rising."""

    soft: float
    middle: float
    loud: float

    def __post_init__(self) -> None:
        if not 0 < self.soft < self.middle < self.loud < _LOUDEST:
            raise ValueError(f"soft, middle and loud must rise between 0 and 127, got {self}")

    def touch(self, velocity: npt.ArrayLike) -> Floats:
        """Touch of 0 to 1 for velocities of 0 to 127."""
        from scipy.interpolate import PchipInterpolator

        curve = PchipInterpolator([0.0, self.soft, self.middle, self.loud, _LOUDEST], [0.0, *STRENGTHS.values(), 1.0])
        touch: Floats = curve(np.clip(np.asarray(velocity, float), 0.0, _LOUDEST))
        return touch.clip(0.0, 1.0)

    def steps(self) -> tuple[float, float, float]:
        """Steps of the touch scale (of 127) a velocity step is worth: from soft to loud, and the least and the most of
        its two halves."""
        lower = _LOUDEST * (STRENGTHS["middle"] - STRENGTHS["soft"]) / (self.middle - self.soft)
        upper = _LOUDEST * (STRENGTHS["loud"] - STRENGTHS["middle"]) / (self.loud - self.middle)
        whole = _LOUDEST * (STRENGTHS["loud"] - STRENGTHS["soft"]) / (self.loud - self.soft)
        return whole, min(lower, upper), max(lower, upper)

    def on_scale(self, value: float, low: float | None, high: float | None) -> tuple[float, float | None, float | None]:
        """A difference or a spread of velocities on the touch scale; its interval widened, since the scale is not
        even and where the notes lay is not known."""
        whole, least, most = self.steps()
        ends = [end * worth for end in (low, high) if end is not None for worth in (least, whole, most)]
        return value * whole, min(ends) if ends else None, max(ends) if ends else None

    def to_json(self) -> dict[str, float]:
        """Plain types; `TouchCurve(**kept)` gives it back."""
        return {"soft": self.soft, "middle": self.middle, "loud": self.loud}

    @classmethod
    def from_json(cls, kept: dict[str, Any]) -> TouchCurve:
        """A curve from what `to_json` gave."""
        return cls(float(kept["soft"]), float(kept["middle"]), float(kept["loud"]))


def on_touch_scale(take: Take, curve: TouchCurve) -> Take:
    """The same take with the velocities that every surveyed piano would share; the given one stays as it is."""
    notes = take.notes.copy()
    notes["velocity"] = np.clip(np.round(_LOUDEST * curve.touch(take.notes["velocity"])), 1, _LOUDEST)
    return replace(take, notes=notes)
