"""Which findings are told first: a page can say everything, and a teacher with a child beside her hears five sentences.

Asked comes first, one of each outcome in turn; then keeping the place; then how it moved. The rest stands behind
"more", whole. To a child one thing is told, beginning with something that came.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from keysense.finding import Finding
from keysense.words.heard import way

__all__ = ["FIRST", "OUTCOMES", "Told", "one_for_child", "one_to_try", "outcome_of", "told"]

FIRST = 5  # sentences before "more"
OUTCOMES = (
    "asked and heard", "asked, not yet heard", "asked, the other way came", "heard, not asked", "can't tell yet",
)  # fmt: skip
_ASKED = ("rise", "loudness_contrast", "overlap_ratio", "hold_ratio")
_PLACE = (
    "waits", "notes_corrected", "notes_other_pitch", "notes_left_out", "notes_extra", "notes_again", "goings_back",
)  # fmt: skip
_MOVED = ("tempo", "evenness_timing", "drift", "hands_lag", "breath")
_IN_TURN = (
    "asked and heard", "asked, not yet heard", "asked, the other way came", "can't tell yet",
)  # fmt: skip


@dataclass(frozen=True)
class Told:
    """The findings of a take in the order they are told; ``more`` holds every finding not told before."""

    asked: tuple[Finding, ...]
    place: tuple[Finding, ...]
    moved: tuple[Finding, ...]
    more: tuple[Finding, ...]


def outcome_of(finding: Finding) -> str | None:
    """The outcome words of a finding that answers a mark of the page; None where nothing was asked of it."""
    asked = finding.place.mark is not None if finding.value is None else finding.limit is not None
    if finding.name not in _ASKED or not asked:
        return None
    if finding.verdict == "within":
        return "asked and heard"
    if finding.verdict == "beyond":
        return "asked, the other way came" if _other_way(finding) else "asked, not yet heard"
    return "can't tell yet"


def told(findings: Sequence[Finding]) -> Told:
    """Three of what was asked, one of keeping the place, and of how it moved as many as make five."""
    asked = _in_turn([finding for finding in findings if outcome_of(finding) is not None])[:3]
    place = [finding for name in _PLACE for finding in findings if finding.name == name and finding.value][:1]
    known = [finding for name in _MOVED for finding in findings if finding.name == name and finding.value is not None]
    moved = known[: FIRST - len(asked) - len(place)]
    first = {id(finding) for finding in (*asked, *place, *moved)}
    more = tuple(finding for finding in findings if id(finding) not in first)
    return Told(tuple(asked), tuple(place), tuple(moved), more)


def one_for_child(findings: Sequence[Finding]) -> Finding | None:
    """The one thing told: what was asked and came, else what was asked, else how the tune moved."""
    asked = _in_turn([finding for finding in findings if outcome_of(finding) is not None])
    known = [finding for finding in findings if finding.name == "drift" and way(finding) != "same"]
    return next(iter([*asked, *known]), None)


def one_to_try(findings: Sequence[Finding]) -> Finding | None:
    """What to try next: asked and not yet heard, else a place where the tune waited."""
    asked = [f for f in findings if outcome_of(f) in ("asked, not yet heard", "asked, the other way came")]
    waits = [f for f in findings if f.name == "waits" and f.value and f.places]
    return next(iter([*asked, *waits]), None)


def _other_way(finding: Finding) -> bool:
    """The sign is against what was asked for, and surely so."""
    if finding.name not in ("rise", "loudness_contrast") or finding.limit is None:
        return False
    return way(finding) == ("down" if finding.limit.side == "min" else "up")


def _in_turn(findings: Sequence[Finding]) -> list[Finding]:
    """One of each outcome, then the next of each, in the order of the music."""
    of_each = [[finding for finding in findings if outcome_of(finding) == outcome] for outcome in _IN_TURN]
    longest = max((len(rows) for rows in of_each), default=0)
    return [rows[k] for k in range(longest) for rows in of_each if k < len(rows)]
