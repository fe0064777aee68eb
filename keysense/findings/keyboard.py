"""How much of the keyboard was used?

Conventions
    Of all key presses of the take, whatever was written. A key is a pitch; counts have no interval.

Findings
    keys_range (count): keys from the lowest struck to the highest, black and white, both counted.
    keys_used (count): how many different keys were struck.

References
    None: a count of what was struck.
"""

from __future__ import annotations

import numpy as np

from keysense.finding import Finding
from keysense.findings.heard import Heard

__all__ = ["keyboard"]


def keyboard(heard: Heard) -> list[Finding]:
    """The range and the number of keys; nothing for an empty take."""
    pitch = heard.take.notes["pitch"].astype(int)
    if not len(pitch):
        return []
    return [
        Finding("keys_range", int(np.ptp(pitch)) + 1, "count", len(pitch)),
        Finding("keys_used", len(np.unique(pitch)), "count", len(pitch)),
    ]
