"""Do the hands sound together, and which is first?

Conventions
    Left minus right: positive, the left hand came later. Places where both hands have a written onset, but none at
    which the page asks for a spread chord; a hand's chord is timed by the mean of its keys, since the first of several
    is early by chance alone.

Findings
    hands_lag (ms): the median over those places with its exact signed-rank interval; missing below eight of them.

References
    12,323 professional chords spread 31 ms in the median, 69 ms at the 95th percentile (computed): a rule "within
    20 ms" would fail most professionals. A louder note sounds earlier partly through the action (Goebl 2001).
"""

from __future__ import annotations

from keysense.finding import Finding, Place
from keysense.findings.events import together
from keysense.findings.heard import Heard
from keysense.findings.rows import median_row

__all__ = ["hands_lag"]


def hands_lag(heard: Heard) -> list[Finding]:
    """Left minus right at the places where both hands strike; nothing where the target tells no two hands."""
    if not {"R", "L"} <= set(heard.target.hands):
        return []
    if not {"R", "L"} <= set(heard.hands):
        return [Finding.missing("hands_lag", "ms", "one hand alone was heard")]
    both = together(heard)
    needed, n, bars = int(heard.practice.value("hands_lag_pairs")), len(both.lag_s), both.bar
    place = Place((int(bars.min()), int(bars.max())) if n else None)
    if n < needed:
        why = f"it takes {needed} places where both hands strike, and {n} of {both.shared} came"
        if heard.marks_of("spread"):
            why += "; those of spread chords are not counted"
        return [Finding.missing("hands_lag", "ms", why, n=n, place=place)]
    return [median_row(heard, "hands_lag", "ms", 1000 * both.lag_s, place, what="such places", needed=3)]
