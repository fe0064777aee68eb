"""Was what was asked also heard? Five outcomes, each with its rule.

Conventions
    A difference is claimed when it is at least the noticeable step and its p lies below .05 shared among the
    dimensions of one page, so that two takes alike in all six claim any difference in at most one pair of twenty.
    Asked but not heard is said only when a clear difference can be ruled out; otherwise nothing can be told yet.

    Six dimensions share the chance as they would were they independent; they hang together, which only makes claims
    fewer. The chance holds where steps and notes err by themselves, or wander so that it shows
    (`keysense.comparing.wandering`): of pairs that carry half of it on, one in eleven claims something of 26 notes, and
    one in seventy of 65.

Findings
    None: neither asked nor heard, or not judged and not asked.

References
    A chance shared among several questions: Bonferroni's inequality (textbook). To say "not" only where a difference
    that matters can be ruled out: Altman & Bland 1995, absence of evidence is not evidence of absence (memory).
"""

from __future__ import annotations

import math
from typing import Literal

from keysense.findings.stats import Estimate, t_two_sided_p

__all__ = ["Outcome", "claimed", "outcome_of"]

Outcome = Literal[
    "asked and heard", "asked, not yet heard", "asked, the other way came", "heard, not asked", "can't tell yet"
]


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


def outcome_of(
    difference: Estimate, *, step: float, clear: float, wished: int, p: float | None = None, dimensions: int = 6,
    chance: float,
) -> Outcome | None:  # fmt: skip
    """The outcome of one dimension.

    wished: the direction in which the difference was asked for, 0 where it was not. step: what is noticed at all.
    clear: what a pair of characters shows without doubt. p, chance: see `claimed`.
    """
    heard = claimed(difference, step, p, dimensions=dimensions, chance=chance)
    if wished == 0:
        return "heard, not asked" if heard else None
    if heard:
        return "asked and heard" if heard == wished else "asked, the other way came"
    if difference.value is None or difference.low is None or difference.high is None:
        return "can't tell yet"
    farthest = difference.high if wished > 0 else -difference.low
    return "asked, not yet heard" if farthest < clear else "can't tell yet"
