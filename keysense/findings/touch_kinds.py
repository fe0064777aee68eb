"""In words: which slurs were joined, just joined, apart, short, held over?

Conventions
    By the median overlap under the slur as a share of the step. The bounds stand in ``practice.toml``: held over, the
    keys overlap by more than `touch_held_over`; joined, they overlap; just joined, the gap is no longer than the limit
    of `overlap_ratio`; apart, longer; short, the notes sound less than `touch_short` of their time.

Findings
    slurs_held_over, slurs_joined, slurs_just_joined, slurs_apart, slurs_short (count): the slurs of each kind, with
        the place of each; a kind that no slur has is not told, and slurs that ask for no joining are of none.

References
    Computed, 22 professionals: legato overlaps by 47 ms [25; 71], and is let go early in about 40 % of slurred steps.
    The bounds are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence

from keysense.finding import Finding
from keysense.practice import Practice

__all__ = ["KINDS", "kind_of", "slur_kinds"]

KINDS = ("held_over", "joined", "just_joined", "apart", "short")


def kind_of(ratio: float, practice: Practice) -> str:
    """The kind of touch of one median overlap, as a share of the step."""
    if ratio > practice.value("touch_held_over"):
        return "held_over"
    if ratio >= 0:
        return "joined"
    if ratio >= practice.value("overlap_ratio"):
        return "just_joined"
    return "short" if 1 + ratio < practice.value("touch_short") else "apart"


def slur_kinds(found: Sequence[Finding], practice: Practice) -> list[Finding]:
    """The counts, from the overlap_ratio of each slur."""
    told = [f for f in found if f.name == "overlap_ratio" and f.limit is not None]
    slurs = [(f.place, f.value) for f in told if f.value is not None]
    rows = []
    for kind in KINDS:
        places = tuple(place for place, ratio in slurs if kind_of(ratio, practice) == kind)
        if places:
            rows.append(Finding(f"slurs_{kind}", len(places), "count", len(slurs), places=places))
    return rows
