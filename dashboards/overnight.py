"""What stayed from one lesson to the next? The first playing of a day beside the last of the day before."""

from __future__ import annotations

from keysense.dashboards._hearing import hear_again
from keysense.dashboards._names import name_takes
from keysense.dashboards._onward import onward

from keysense.page import Page, Panel
from keysense.studio.between import OvernightPair, overnights
from keysense.studio.studio import Studio
from keysense.words import translated, word
from keysense.words.between import say_overnight, say_overnight_to_child

__all__ = ["QUESTION", "page"]

QUESTION = "What stayed from one lesson to the next?"


def page(studio: Studio, pupil_id: str) -> Page:
    """One pupil's tunes, in the order of the shelf. Raises UnknownName."""
    pupil = studio.pupil(pupil_id)
    pairs = overnights(studio, pupil.id)
    said = say_overnight_to_child([(pair.piece.title, pair.found) for pair in pairs])
    panels = [Panel("say", "", {"said": said, "aloud": True})]
    panels += [*_to_hear(studio, pairs), onward(pupil)]
    for pair in pairs:
        told = [word("overnight.why", why=translated(pair.why))] if pair.why else say_overnight(pair.found)
        panels.append(Panel("text", pair.piece.title, {"said": told}, for_teacher=True))
    last = word("overnight.caution" if pairs else "overnight.none")
    panels.append(Panel("text", "", {"said": [last]}, for_teacher=True))
    return Page(QUESTION, word("overnight.title"), word("overnight.above", pupil=pupil.nickname), panels)


def _to_hear(studio: Studio, pairs: tuple[OvernightPair, ...]) -> list[Panel]:
    """Both playings of the first tune that has two, each as it was."""
    both = next(((pair.last, pair.first) for pair in pairs if pair.last is not None), None)
    if both is None:
        return []
    names = word("overnight.last"), word("overnight.first")
    return [hear_again(name_takes(studio, list(both)), names, coats=False)]
