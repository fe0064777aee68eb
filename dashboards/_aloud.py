"""The one large sentence under a take; and what is said where there is no loud and soft to see."""

from __future__ import annotations

from keysense.dashboards._hearing import hear_again
from keysense.dashboards._names import NamedTake
from keysense.dashboards._share import draw_link

from keysense.finding import Finding
from keysense.findings.loudness import ONE_VELOCITY
from keysense.findings.reading import Reading
from keysense.page import Panel
from keysense.words import say_asked_to_child, word
from keysense.words.choosing import outcome_of

__all__ = ["aloud", "hear_and_draw", "is_level", "level_panel"]

_BROKEN_OFF = {"cut", "stopped"}  # the cable went, or the listening was switched off: not all of it was heard


def aloud(named: NamedTake, one: Finding | None) -> Panel:
    """What came, in one sentence; where nothing was asked, a question; where it broke off, that it did."""
    said = word("child.other") if one is None else say_asked_to_child(one)
    if (one is None or outcome_of(one) is None) and _BROKEN_OFF & set(named.take.flags):
        said = word("child.broken_off")
    return Panel("say", "", {"said": said, "aloud": True})


def is_level(reading: Reading) -> bool:
    """Whether the piano sent one loudness only."""
    return not reading.contours and any(finding.why_missing == ONE_VELOCITY for finding in reading.findings)


def level_panel(reading: Reading) -> list[Panel]:
    """Why the thread shows no loud and soft, where it does not."""
    return [Panel("text", "", {"said": [word("child.level")]})] if is_level(reading) else []


def hear_and_draw(named: NamedTake, reading: Reading) -> list[Panel]:
    """Hear it, and draw the next line; on a piano of one loudness, that words go further than a line."""
    link = next(iter(draw_link(named)), None)
    if link is not None and is_level(reading):
        said = Panel("text", "", {"said": [word("draw.level")]})
        return [said, hear_again([named], target=reading.target)]
    return [hear_again([named], target=reading.target, beside=link)]
