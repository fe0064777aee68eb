"""Did the tempo change on the way, from one bar to the next?

Conventions
    Both hands together, steps that are not free (a sudden change is never a wait), one written tempo and one pass only;
    what counts as a jump: `keysense.findings.jumps`. From there on everything else is judged as at a newly written
    tempo: two paces, each with its own tempo, drift and evenness.

Findings
    tempo_change (%): the jump of tempo, Student's interval, placed in the bar where the new tempo begins. Told only
        where there is one.

References
    Limit: the row ``tempo_clear``; common practice, no source.
"""

from __future__ import annotations

import math

from keysense.finding import Finding, Place
from keysense.findings.heard import Heard
from keysense.findings.steps import steps_of

__all__ = ["tempo_change"]


def tempo_change(heard: Heard) -> list[Finding]:
    """The one jump that stands out most; nothing where none does, or where freedom of time was asked."""
    events = heard.all_events
    steps = steps_of(heard, events)
    jump = steps.jump
    if jump is None:
        return []
    value, high, low = (100 * math.expm1(-v) for v in jump.rise.whole())
    bar = int(events.bar[steps.first[steps.start >= jump.quarter][0]])
    return [Finding("tempo_change", value, "%", jump.n, low, high, None, Place((bar, bar)))]
