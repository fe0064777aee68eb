"""The guess of a child said back beside what was heard: never a tally, and where the two differ both are said."""

from __future__ import annotations

from keysense.finding import Finding
from keysense.findings.reading import Reading
from keysense.words.catalogue import word
from keysense.words.choosing import outcome_of

__all__ = ["grown_where", "say_grown"]

_LATE = (0.5, 0.75)  # a tune that grows before the first grows in the middle, after the second towards its end
_TOLD = ("asked and heard", "asked, not yet heard", "asked, the other way came")


def say_grown(reading: Reading, guess: str) -> tuple[str, str | None]:
    """One sentence about a guess (``middle``, ``end``, ``same``), and, where the ears differ, what was heard.

    The second is the guess itself where both agree, None where nobody can tell.
    """
    places = grown_where(reading)
    if guess in places:
        return word(f"guess.grow.too.{guess}"), guess
    heard = next(iter(places), None)
    yours, mine = word(f"guess.grow.yours.{guess}"), word(f"guess.grow.mine.{heard or 'unsure'}")
    return word("guess.grow.other", yours=yours, mine=mine), heard


def grown_where(reading: Reading) -> tuple[str, ...]:
    """Where it was heard to grow, by the crescendos asked for that came; none where nobody can tell.

    A crescendo a little after the middle is both "in the middle" and "towards the end": either ear is right.
    """
    asked = [finding for finding in reading.named("rise") if _grows(reading, finding)]
    came = [finding.place.bars for finding in asked if outcome_of(finding) == "asked and heard"]
    middles = [(bars[0] + bars[1] - 1) / 2 for bars in came if bars is not None]
    if not middles:
        return ("same",) if asked and all(outcome_of(finding) in _TOLD for finding in asked) else ()
    share = max(middles) / float(reading.target.bars["number"].max())
    return ("middle",) if share < _LATE[0] else ("middle", "end") if share < _LATE[1] else ("end",)


def _grows(reading: Reading, finding: Finding) -> bool:
    kinds = {mark.id: mark.kind for mark in reading.target.marks}
    return kinds.get(finding.place.mark or "", "crescendo") == "crescendo"
