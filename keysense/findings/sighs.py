"""Two-note slurs, and how a slur ends.

Conventions
    A two-note slur covers two written onsets of its hand. Both figures are reported; neither is required alone.

Findings
    sigh_loudness (velocity): the second event minus the first, median over the two-note slurs; negative is softer.
    sigh_release (1): share of the second note's step that is silent beyond a written rest (where one follows: of the
        note itself); more than 0 is let go early.
    slur_end (1): the same share at the last note of every longer slur.
    One row a hand, signed-rank intervals; missing below three slurs. Steps that waited, and with the pedal down for
    the releases, are left out.

References
    Common practice, no source: the second note of a two-note slur is softer and let go earlier.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Events, Heard, hand_or_none
from keysense.findings.loudness import ONE_VELOCITY, one_velocity
from keysense.findings.rows import median_row
from keysense.findings.spans import under_slurs
from keysense.findings.touch import silent_of, touches_of
from keysense.targets.target import Mark

__all__ = ["sighs"]

Floats = npt.NDArray[np.float64]


def sighs(heard: Heard) -> list[Finding]:
    """The two-note slurs of each hand, then the ends of its longer slurs."""
    slurs = heard.marks_of("slur")
    return [row for hand in heard.hands if slurs for row in _of_hand(heard, hand, slurs)]


def _of_hand(heard: Heard, hand: str, slurs: list[Mark]) -> list[Finding]:
    first, second, longer = _onsets(heard, hand, [mark for mark in slurs if mark.hand in ("", hand)])
    events = heard.hand_events[hand]
    rows = []
    if len(first):
        what = "two-note slurs"
        loudness = _difference(events, first, second)
        place = _place(events, np.concatenate([first, second]), hand)
        if one_velocity(heard):
            rows.append(Finding.missing("sigh_loudness", "velocity", ONE_VELOCITY, n=len(loudness), place=place))
        else:
            rows.append(median_row(heard, "sigh_loudness", "velocity", loudness, place, what=what))
        rows.append(median_row(heard, "sigh_release", "1", _silent(heard, hand, second), place, what=what))
    if len(longer):
        place = _place(events, longer, hand)
        rows.append(median_row(heard, "slur_end", "1", _silent(heard, hand, longer), place, what="slurs"))
    return rows


def _onsets(heard: Heard, hand: str, slurs: list[Mark]) -> tuple[Floats, Floats, Floats]:
    """Written onsets: the first and the second of each two-note slur, the last of each longer one."""
    notes = heard.target.notes
    target = heard.asked(hand)
    under = under_slurs(heard, slurs, np.ascontiguousarray(notes["onset_quarter"][target]), target)
    onset = np.round(notes["onset_quarter"][target[under.rows]], 6)
    new = (np.diff(onset, prepend=-np.inf) != 0) | (np.diff(under.number, prepend=-1) != 0)
    onset, counts = onset[new], under.where(new).counts
    last = np.cumsum(counts) - 1
    two = last[counts == 2]
    return onset[two - 1], onset[two], onset[last[counts > 2]]


def _difference(events: Events, first: Floats, second: Floats) -> Floats:
    """Velocity of the second event minus the first, of the slurs of which both were heard."""
    velocity = dict(zip(events.quarter.tolist(), events.velocity.tolist(), strict=True))
    both = [(a, b) for a, b in zip(first.tolist(), second.tolist(), strict=True) if a in velocity and b in velocity]
    return np.array([velocity[b] - velocity[a] for a, b in both])


def _silent(heard: Heard, hand: str, quarter: Floats) -> Floats:
    """Silent share of the steps that begin at some written onsets, beyond a written rest."""
    touches = touches_of(heard, hand)
    fit = np.isin(np.round(touches["quarter"], 6), quarter) & (touches["usable"] | touches["rested"])
    return silent_of(touches[fit & ~touches["pedal"]])


def _place(events: Events, quarter: Floats, hand: str) -> Place:
    bar = events.bar[np.isin(events.quarter, quarter)]
    return Place((int(bar.min()), int(bar.max())) if len(bar) else None, hand_or_none(hand))
