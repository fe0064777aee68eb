"""One thing to try, as a wish a child can hear: a place and a way, never a fault."""

from __future__ import annotations

from keysense.finding import Finding, Place
from keysense.words.catalogue import word
from keysense.words.figures import place_words
from keysense.words.heard import held_over

__all__ = ["answers", "say_try", "say_wish"]


def say_try(finding: Finding) -> str:
    """What to try where a mark of the page was not heard yet, or where the tune waited."""
    place = finding.places[0] if finding.name == "waits" and finding.places else finding.place
    where = place_words(Place(place.bars))
    if not where:
        return word("try.nothing")
    if finding.name == "rise":
        falls = finding.limit is not None and finding.limit.side == "max"
        return word("try.fall" if falls else "try.rise", place=where)
    if finding.name == "hold_ratio":
        short = finding.limit is not None and finding.limit.side == "max"
        return word("try.short" if short else "try.long", place=where)
    if finding.name == "overlap_ratio":
        return word("try.over" if held_over(finding) else "try.overlap", place=where)
    key = {"waits": "try.waits", "loudness_contrast": "try.contrast"}.get(finding.name)
    return word(key, place=where) if key else word("try.nothing")


def answers(finding: Finding, said: str) -> bool:
    """Whether a finding is about what was asked in these words; of a slur, whichever way it was asked."""
    if finding.name != "overlap_ratio":
        return say_try(finding) == said
    where = place_words(Place(finding.place.bars))
    return said in (word("try.over", place=where), word("try.overlap", place=where))


def say_wish(wish: str, character: str) -> str:
    """A character's wish in one dimension, as something to try."""
    return word(f"try.{wish}", character=character)
