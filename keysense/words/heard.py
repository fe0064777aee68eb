"""One finding as one sentence for the teacher: what, where, how sure, from how much."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from keysense.finding import Finding
from keysense.words.catalogue import counted, has_word, word
from keysense.words.figures import breath_places, figure, place_words, places_words, size, start_large

__all__ = ["Way", "say_for_teacher", "title_of", "way"]

Way = Literal["up", "down", "same"]
Show = Callable[[float], str]

_COUNTED = (
    "notes_as_written", "notes_other_pitch", "notes_left_out", "notes_extra", "waits", "breath", "goings_back",
)  # fmt: skip
_PAIRS = ("overlap", "overlap_ratio", "hands_lag")
_STEPS = ("evenness_timing", "evenness_timing_robust", "sd_ioi", "cv_ioi", "drift")


def say_for_teacher(finding: Finding) -> str:
    """One sentence with its full stop: the place, what was heard, its likely range and what it rests on."""
    place = place_words(finding.place)
    if finding.value is None:
        why = finding.why_missing.rstrip(".")
        key = "missing.place" if place else "missing"
        return start_large(word(key, title=title_of(finding.name), place=place, why=why)) + "."
    if finding.name in _COUNTED:
        said = _count(finding, int(finding.value))
    else:
        said = _against_limit(finding, _from(finding, _measured(finding, finding.value)))
    return start_large(word("place.lead", place=place, said=said) if place else said) + "."


def title_of(name: str) -> str:
    """What a finding is called on pages."""
    return word(f"title.{name}") if has_word(f"title.{name}") else name.replace("_", " ")


def way(finding: Finding) -> Way:
    """Which way a signed finding went; ``same`` where its likely range holds both ways, or nothing at all."""
    if finding.value is None:
        return "same"
    low = finding.value if finding.low is None else finding.low
    high = finding.value if finding.high is None else finding.high
    return "up" if low > 0 else "down" if high < 0 else "same"


def _measured(finding: Finding, value: float) -> str:
    if has_word(f"{finding.name}.up"):
        return _signed(finding, value)
    if has_word(finding.name):
        said = word(finding.name, value=figure(value, finding.unit))
    else:
        unit = word(f"unit.{finding.unit}")
        said = word("other", title=title_of(finding.name), value=figure(value, finding.unit), unit=unit)
    return _likely(finding, said, lambda bound: figure(bound, finding.unit))


def _signed(finding: Finding, value: float) -> str:
    went = way(finding)
    said = word(f"{finding.name}.{went}", size=size(value, finding.unit))
    if went == "same":
        return _likely(finding, said, lambda bound: figure(bound, finding.unit))
    return _likely(finding, said, lambda bound: size(bound, finding.unit), turned=went == "down")


def _likely(finding: Finding, said: str, show: Show, turned: bool = False) -> str:
    if finding.low is None or finding.high is None:
        return said
    low, high = (finding.high, finding.low) if turned else (finding.low, finding.high)
    return word("likely", said=said, low=show(low), high=show(high))


def _against_limit(finding: Finding, said: str) -> str:
    signed = has_word(f"{finding.name}.up") and finding.limit is not None and finding.limit.side != "both"
    if finding.limit is None or finding.verdict in (None, "missing") or signed:
        return said
    side = "min" if finding.limit.side == "min" else "max"
    return word(f"limit.{finding.verdict}.{side}", said=said, limit=figure(finding.limit.value, finding.unit))


def _from(finding: Finding, said: str) -> str:
    if not finding.n:
        return said
    key = "n.pairs" if finding.name in _PAIRS else "n.steps" if finding.name in _STEPS else "n.notes"
    return word("from", said=said, n=counted(key, finding.n))


def _count(finding: Finding, n: int) -> str:
    if n == 0:
        return word(f"none.{finding.name}")
    if finding.name == "notes_as_written":
        return counted(finding.name, n)
    where = breath_places(finding) if finding.name == "breath" else places_words(finding)
    return counted(finding.name, n, where=where) if where else counted(f"unplaced.{finding.name}", n)
