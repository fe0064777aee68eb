"""Where did the tune wait at first sight? One thing for the child; every kind of note for the teacher."""

from __future__ import annotations

from keysense.page import Page, Panel
from keysense.studio.many import sight_of
from keysense.studio.studio import Studio
from keysense.words import word
from keysense.words.many import say_sight, say_sight_to_child

__all__ = ["QUESTION", "page"]

QUESTION = "Where did the tune wait at first sight?"


def page(studio: Studio, pupil_id: str) -> Page:
    """All cards of one pupil together. Raises UnknownName."""
    pupil = studio.pupil(pupil_id)
    reading, pieces = sight_of(studio, pupil.id)
    panels = [Panel("say", "", {"said": say_sight_to_child(reading), "aloud": True})]
    if pieces:
        cards = ", ".join(piece.title for piece in pieces)
        panels += [
            Panel("text", word("sight.name"), {"said": say_sight(reading)}, for_teacher=True),
            Panel("text", word("sight.cards"), {"said": [cards]}, for_teacher=True),
        ]
    else:
        said = word("sight.no_cards", example=word("sight.example", pupil=pupil.nickname.lower()))
        panels.append(Panel("text", word("sight.name"), {"said": [said]}, for_teacher=True))
    return Page(QUESTION, word("sight.title"), word("sight.above", pupil=pupil.nickname), panels)
