"""Two takes on two pianos: what their numbers may not be asked.

Conventions
    Velocities of two pianos compare only where both are known by a survey (`keysense.survey`). Where they are not,
    loudness and contrast between the two takes are not judged; tempo, touch, evenness and breath stand.

Findings
    None of its own: what is taken out of a comparison.

References
    Computed: in one open set of professionals 5th to 95th percentile of velocity lay at 28 to 77 in one piece and at 73
    to 114 in another, so the numbers of two set-ups do not compare.
"""

from __future__ import annotations

from dataclasses import replace

from keysense.comparing.compare import Comparison, Dimension
from keysense.finding import Finding

__all__ = ["NOT_SURVEYED", "without_loudness"]

NOT_SURVEYED = "they were played on two pianos whose touch is not surveyed: make both known with keysense survey"
_OF_VELOCITY = ("loudness", "contrast")


def without_loudness(comparison: Comparison, why: str = NOT_SURVEYED) -> Comparison:
    """The same comparison, saying of loudness and contrast why nothing can be told."""
    return replace(comparison, dimensions=tuple(_silent(one, why) for one in comparison.dimensions))


def _silent(one: Dimension, why: str) -> Dimension:
    if one.name not in _OF_VELOCITY:
        return one
    difference = Finding.missing(one.difference.name, one.difference.unit, why, n=one.difference.n)
    return replace(one, difference=difference, outcome=None if one.wish is None else "can't tell yet", way=None)
