"""How finely a piano's times can be trusted, and what kind of pedal it has.

Conventions
    Times in seconds of key presses; values of the sustain pedal from 0 to 127.

Findings
    clock_step (ms): the coarsest step on which the times lie: the mean vector of the times on a circle of one step is
        at least .9 long (1 on an exact grid, about 1 / sqrt n without one). Missing where none from .5 ms up fits.
    Pedal kind: "none" (nothing came), "inverted" (it rests at 64 or above), "continuous" (more than two values),
        "switch".

References
    Mean resultant length of directions: Mardia & Jupp, Directional Statistics (memory).
"""

from __future__ import annotations

from typing import Literal

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding

__all__ = ["PedalKind", "clock_step", "pedal_kind"]

PedalKind = Literal["none", "switch", "continuous", "inverted"]
_STEPS_MS = (20.0, 16.0, 15.625, 12.0, 10.0, 8.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0, 0.5)
_LONG = 0.9
_FEWEST = 20
_SUSTAIN = 64


def clock_step(time_s: npt.NDArray[np.float64]) -> Finding:
    """The step of the clock that stamped these times."""
    n = len(time_s)
    if n < _FEWEST:
        return Finding.missing("clock_step", "ms", f"it takes {_FEWEST} notes, and {n} came", n=n)
    for step in _STEPS_MS:
        turns = np.exp(2j * np.pi * 1000 * time_s / step)
        if abs(turns.mean()) >= _LONG:
            return Finding("clock_step", step, "ms", n)
    return Finding.missing("clock_step", "ms", "its times lie on no step of half a millisecond or more", n=n)


def pedal_kind(pedals: npt.NDArray[np.void]) -> PedalKind:
    """The kind of pedal that sent these; at the end of a survey the foot is off it."""
    values = pedals["value"][pedals["controller"] == _SUSTAIN]
    if not len(values):
        return "none"
    if values[-1] >= _SUSTAIN:
        return "inverted"
    return "continuous" if len(np.unique(values)) > 2 else "switch"
