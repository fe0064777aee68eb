"""Was what was asked also heard? Five outcomes, each with its rule.

Conventions
    A difference is claimed when it is at least the noticeable step and its p lies below .05 shared among the
    dimensions of one page, so that two takes alike in all six claim any difference in at most one pair of twenty.
    Asked but not heard is said only when a clear difference can be ruled out; otherwise nothing can be told yet.

    Two takes are alike only where that is known: the difference itself is smaller than the noticeable step, and its
    interval rules out a clear one either way. The step alone would be too narrow a gate (two takes of one plan with 26
    notes would seldom pass it, with 8 never), the clear difference alone too wide: it would call alike what most likely
    is noticed. A difference that is neither claimed nor ruled out cannot be told. Two takes that differ by the clear
    amount or more are called alike in at most one of forty dimensions.

    Six dimensions share the chance as they would were they independent; they hang together, which only makes claims
    fewer. The chance holds where steps and notes err by themselves, or wander so that it shows
    (`keysense.comparing.wandering`): of pairs that carry half of it on, one in eleven claims something of 26 notes, and
    one in seventy of 65.

Findings
    Of each dimension an outcome, None where nothing was asked and nothing is claimed, and a way: b has more of it or
    less, both are alike, or None where that cannot be told.

References
    A chance shared among several questions: Bonferroni's inequality (textbook). To say "not" only where a difference
    that matters can be ruled out: Altman & Bland 1995, absence of evidence is not evidence of absence (memory). Alike
    where the interval lies within what does not matter: Schuirmann 1987, two one-sided tests (memory); 95 % intervals
    are the stricter gate.
"""

from __future__ import annotations

import math
from typing import Literal, NamedTuple

from keysense.findings.stats import Estimate, t_two_sided_p

__all__ = ["Gauged", "Outcome", "Way", "claimed", "outcome_of", "way_of"]

Outcome = Literal[
    "asked and heard", "asked, not yet heard", "asked, the other way came", "heard, not asked", "can't tell yet"
]
Way = Literal["up", "down", "same"]


class Gauged(NamedTuple):
    """A difference with what is noticed at all of it, and what a pair of characters shows without doubt."""

    difference: Estimate
    step: float
    clear: float


def claimed(difference: Estimate, step: float, p: float | None = None, *, dimensions: int = 6, chance: float) -> int:
    """+1 or -1 where a difference is claimed, 0 where it is not.

    p: how often so much comes from nothing; without it, from the difference and its error. chance: how often a page may
    claim what nothing made (the row ``false_claims``).
    """
    value = difference.value
    if value is None or abs(value) < step or (p is None and math.isnan(difference.se)):
        return 0
    if p is None:
        p = 0.0 if difference.se == 0 else t_two_sided_p(value, difference.se, difference.df)
    return int(math.copysign(1, value)) if p < chance / dimensions else 0


def outcome_of(gauged: Gauged, heard: int, wished: int, beside: Gauged | None = None) -> Outcome | None:
    """The outcome of one dimension.

    heard: the direction that is claimed, 0 where none is. wished: the direction in which the difference was asked for,
    0 where it was not. beside: another measure of the same dimension, in which it might have been heard as well.
    """
    if wished == 0:
        return "heard, not asked" if heard else None
    if heard:
        return "asked and heard" if heard == wished else "asked, the other way came"
    ruled_out = all(_farthest(one.difference, wished) < one.clear for one in (gauged, beside) if one)
    return "asked, not yet heard" if ruled_out else "can't tell yet"


def way_of(gauged: Gauged, heard: int, beside: Gauged | None = None) -> Way | None:
    """Which way b went from a; None where it cannot be told. heard, beside: see `outcome_of`."""
    if heard:
        return "up" if heard > 0 else "down"
    return "same" if all(_alike(one) for one in (gauged, beside) if one) else None


def _alike(one: Gauged) -> bool:
    value = one.difference.value
    within = max(_farthest(one.difference, way) for way in (1, -1)) < one.clear
    return value is not None and abs(value) < one.step and within


def _farthest(difference: Estimate, way: int) -> float:
    """How far the difference may go in one direction; without end where its interval is not known."""
    if difference.value is None or difference.low is None or difference.high is None:
        return math.inf
    return difference.high if way > 0 else -difference.low
