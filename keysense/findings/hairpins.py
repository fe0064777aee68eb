"""Does it grow, or fade, where the page asks for it?

Conventions
    One row a hairpin and hand; the notes are those struck from where the hairpin opens up to, but not at, where it
    closes, chords by the mean of their notes. Where the piano sends one velocity nothing is said.

Findings
    rise (velocity): the Theil-Sen slope over the notes times the length of the hairpin in quarters, with the exact
        rank interval (Kendall); falling is negative. Missing below five notes, since no 95 % interval exists there.

References
    Sen 1968 (memory). Check value (computed): [40 44 43 50 55 60 58 66]: slope 3.732 (2.8; 5.0) a note. Monotone
    shares are no measure: noise alone reaches an isotonic R2 of .74 with eight notes (computed).
"""

from __future__ import annotations

import numpy as np

from keysense.finding import Finding, Limit, Place
from keysense.findings.heard import Events, Heard, hand_or_none
from keysense.findings.loudness import ONE_VELOCITY, one_velocity
from keysense.findings.stats import theil_sen
from keysense.targets.target import Mark

__all__ = ["rises"]

_NEAR = 1e-6
_FEWEST = 5


def rises(heard: Heard) -> list[Finding]:
    """One row for each hairpin and each hand that has notes under it."""
    rows: list[Finding] = []
    for mark in heard.marks:
        if mark.kind in ("crescendo", "diminuendo"):
            rows += [_rise(heard, mark, hand, events) for hand, events in heard.hand_events.items()
                     if mark.hand in ("", hand) and _written_under(heard, mark, hand)]  # fmt: skip
    return rows


def _written_under(heard: Heard, mark: Mark, hand: str) -> bool:
    notes = heard.target.notes[heard.target.notes["hand"] == hand]
    onset = notes["onset_quarter"]
    return bool(np.any((onset > mark.start_quarter - _NEAR) & (onset < mark.end_quarter - _NEAR)))


def _rise(heard: Heard, mark: Mark, hand: str, events: Events) -> Finding:
    under = (events.quarter > mark.start_quarter - _NEAR) & (events.quarter < mark.end_quarter - _NEAR)
    n = int(np.count_nonzero(under))
    bars = (int(events.bar[under].min()), int(events.bar[under].max())) if n else None
    place = Place(bars, hand_or_none(hand), mark.id)
    if one_velocity(heard):
        return Finding.missing("rise", "velocity", ONE_VELOCITY, n=n, place=place)
    if n < _FEWEST:
        why = f"it takes {_FEWEST} notes under a hairpin, and {n} came"
        return Finding.missing("rise", "velocity", why, n=n, place=place)
    span = mark.end_quarter - mark.start_quarter
    value, low, high = (span * v for v in theil_sen(events.quarter[under], events.velocity[under]).whole())
    step = heard.practice.value("rise")
    limit = Limit(step, "min") if mark.kind == "crescendo" else Limit(-step, "max")
    return Finding("rise", value, "velocity", n, low, high, limit, place)
