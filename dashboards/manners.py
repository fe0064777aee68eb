"""Do tunes learnt by ear and tunes learnt from the page go differently, as far as we can tell?"""

from __future__ import annotations

from keysense.dashboards._onward import onward

from keysense.page import Page, Panel
from keysense.studio.between import manners_of
from keysense.studio.studio import Studio
from keysense.words import word
from keysense.words.between import say_manners

__all__ = ["QUESTION", "page"]

QUESTION = "Do tunes learnt by ear and from the page go differently?"


def page(studio: Studio, pupil_id: str) -> Page:
    """One pupil's two ways of learning; a question for the child, what was heard for the teacher."""
    pupil = studio.pupil(pupil_id)
    found, pieces = manners_of(studio, pupil.id)
    panels = [
        Panel("say", "", {"said": word(_asked(*pieces)), "aloud": True}),
        onward(pupil),
        Panel("text", word("manners.title"), {"said": say_manners(found, pieces)}, for_teacher=True),
    ]
    return Page(QUESTION, word("manners.title"), word("manners.above", pupil=pupil.nickname), panels)


def _asked(by_ear: int, from_page: int) -> str:
    """Which question the child is asked: of both ways, or of the one that has not been gone yet."""
    return (
        "child.manners"
        if by_ear and from_page
        else "child.manners.by ear"
        if from_page
        else "child.manners.from the page"
    )
