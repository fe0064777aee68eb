"""How loud is each hand?

Conventions
    Loudness is MIDI velocity, 0 to 127, of every note of the hand but grace notes, and means only what this piano makes
    of it; which of two takes is louder is a question of `keysense.comparing`.

Findings
    loudness (velocity): mean of the velocities of one hand; Student's interval on their scatter about the hand's own
        line (a quadratic a phrase), as if the same line were played again; one row a hand; missing below three notes,
        and where the piano sends one velocity.

References
    Velocity has no fixed loudness (General MIDI leaves it open; two public libraries put p at 44 and at 50, computed),
    so there is no limit.
"""

from __future__ import annotations

import math

from keysense.finding import Finding, Place
from keysense.findings.heard import Heard, hand_or_none
from keysense.findings.loudness import ONE_VELOCITY, line_of, line_of_events, one_velocity
from keysense.findings.stats import t_quantile

__all__ = ["loudness_level"]

_FEWEST = 3
_FEWEST_ABOUT_LINE = 8


def loudness_level(heard: Heard) -> list[Finding]:
    """The mean velocity of each hand."""
    return [_of_hand(heard, hand) for hand in heard.hands]


def _of_hand(heard: Heard, hand: str) -> Finding:
    rows, index = heard.rows, heard.sounded(hand)
    velocity, n = rows["velocity"][index], len(index)
    place = Place(heard.bars_of(rows["bar"][index]), hand_or_none(hand))
    if one_velocity(heard) or n < _FEWEST:
        why = ONE_VELOCITY if one_velocity(heard) else f"it takes {_FEWEST} notes, and {n} came"
        return Finding.missing("loudness", "velocity", why, n=n, place=place)
    events = heard.hand_events[hand]
    if len(events) == n:
        fitted, p = line_of_events(heard, events)
    else:
        fitted, p = line_of(heard, rows["quarter"][index], velocity, rows["passing"][index])
    off, df = velocity - fitted, n - p
    if df < _FEWEST_ABOUT_LINE:
        off, df = velocity - velocity.mean(), n - 1
    mean, half = float(velocity.mean()), t_quantile(df) * math.sqrt(float(off @ off) / df / n)
    return Finding("loudness", mean, "velocity", n, mean - half, mean + half, None, place)
