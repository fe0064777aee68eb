"""Do the notes of a chord sound at once?

Conventions
    A chord is what is written on one onset, both hands, grace notes aside. Times are those of the keys.

Findings
    chord_spread (ms): last key down minus first, median over the chords, exact sign-test interval (the spreads lie
        lopsided); one row for all, and where two hands play one more for each hand that has chords. Missing below six.

References
    Computed: 12,323 professional chords spread 31 ms in the median, 69 ms at the 95th percentile.
"""

from __future__ import annotations

import numpy as np

from keysense.finding import Finding
from keysense.findings.heard import Heard
from keysense.findings.rows import median_row, onset_groups, place_of

__all__ = ["chord_spread"]


def chord_spread(heard: Heard) -> list[Finding]:
    """The spread of all chords, then of each hand's own where both hands play."""
    both = len(heard.hands) > 1
    return [row for hand in (None, *(heard.hands if both else ())) for row in _spread(heard, hand)]


def _spread(heard: Heard, hand: str | None) -> list[Finding]:
    notes = heard.target.notes[~heard.target.notes["is_grace"]]
    onset = np.round(notes["onset_quarter"][notes["hand"] == hand if hand is not None else slice(None)], 6)
    if len(np.unique(onset)) == len(onset):
        return []
    groups = onset_groups(heard, hand)
    spread = np.array([1000 * np.ptp(heard.rows["onset_s"][group]) for group in groups])
    chosen = heard.rows[np.concatenate([np.zeros(0, np.int64), *groups])]
    place = place_of(heard, chosen, hand or "")
    return [median_row(heard, "chord_spread", "ms", spread, place, what="chords", lopsided=True)]
