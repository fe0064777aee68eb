"""Do tunes learnt by ear and tunes learnt from the page go differently, as far as we can tell?"""

from __future__ import annotations

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
        Panel("say", "", {"said": word("child.manners"), "aloud": True}),
        Panel("text", word("manners.title"), {"said": say_manners(found, pieces)}, for_teacher=True),
    ]
    return Page(QUESTION, word("manners.title"), word("manners.above", pupil=pupil.nickname), panels)
