"""The one large sentence under a take; and what is said where there is no loud and soft to see."""

from __future__ import annotations

from typing import Any

from keysense.dashboards._hearing import hear_again
from keysense.dashboards._names import NamedTake
from keysense.dashboards._share import draw_link
from keysense.dashboards._wish import again

from keysense.finding import Finding, Place
from keysense.findings.loudness import ONE_VELOCITY
from keysense.findings.reading import Reading
from keysense.page import Panel
from keysense.studio.studio import Studio
from keysense.words import say_asked_to_child, word
from keysense.words.choosing import outcome_of
from keysense.words.figures import place_words
from keysense.words.trying import answers, say_try

__all__ = ["aloud", "answered", "is_level", "level_panel", "presses"]

_BROKEN_OFF = {"cut", "stopped"}  # the cable went, or the listening was switched off: not all of it was heard


def aloud(named: NamedTake, one: Finding | None, answer: str = "") -> Panel:
    """What came, in one sentence; where nothing was asked, a question; where it broke off, that it did.

    answer: to what was asked by the press before this take; it goes before all else.
    """
    said = word("child.other") if one is None else say_asked_to_child(one)
    if answer:
        said = answer
    elif (one is None or outcome_of(one) is None) and _BROKEN_OFF & set(named.take.flags):
        said = word("child.broken_off")
    return Panel("say", "", {"said": said, "aloud": True})


def answered(studio: Studio, named: NamedTake, reading: Reading, before: Reading | None) -> str:
    """Whether what was asked by "Again, with this wish" came this time; empty where nothing was, or nobody can tell."""
    asked = studio.played_before(named.take.id)
    said = "" if asked is None else asked[1]
    if not said:
        return ""
    for finding in reading.findings:
        if outcome_of(finding) not in (None, "can't tell yet") and answers(finding, said):
            return say_asked_to_child(finding)
    for finding in () if before is None else before.named("waits"):
        if finding.places and finding.places[0].bars and say_try(finding) == said:
            return _kept_going(reading, finding.places[0].bars)
    return ""


def _kept_going(reading: Reading, bars: tuple[int, int]) -> str:
    """Of a place where the tune had waited: whether it waits there still; empty where it was not played this time."""
    bar_of, followed = reading.target.notes["bar"], reading.following.pairs["target"]
    if bars[0] not in {int(bar_of[row]) for row in followed if row >= 0}:
        return ""
    waits = any(place.bars == bars for finding in reading.named("waits") for place in finding.places)
    return word("child.not.waits" if waits else "child.asked.waits", place=place_words(Place(bars)))


def is_level(reading: Reading) -> bool:
    """Whether the piano sent one loudness only."""
    return not reading.contours and any(finding.why_missing == ONE_VELOCITY for finding in reading.findings)


def level_panel(reading: Reading) -> list[Panel]:
    """Why the thread shows no loud and soft, where it does not."""
    return [Panel("text", "", {"said": [word("child.level")]})] if is_level(reading) else []


def presses(named: NamedTake, reading: Reading, wish: dict[str, Any], *, heard_above: bool = False) -> list[Panel]:
    """What can be done now, in one row: again, hear it, show the shape, draw the next line.

    wish: what is asked by the press; with words it stands on a slip of its own above. heard_above: hearing it stands
    above already. On a piano of one loudness it is said that words go further than a line.
    """
    link, level = next(iter(draw_link(named)), None), is_level(reading)
    said = [Panel("text", "", {"said": [word("draw.level")]})] if link is not None and level else []
    takes, names = ([], ()) if heard_above else ([named], ("",))
    row = hear_again(
        takes,
        names,
        reading.target,
        again=None if wish["said"] else wish,
        shape=named.take.id if reading.contours else None,
        draw=None if link is None or level else link.content,
    )
    return [*again(wish), *said, row]
