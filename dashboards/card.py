"""What may the child see? One picture, one thing that came, one question, one thing to try; no figure."""

from __future__ import annotations

from datetime import date

from keysense.dashboards.note import paper_panel

from keysense.page import Page
from keysense.papers import desk
from keysense.studio.studio import Studio
from keysense.words import word

__all__ = ["QUESTION", "page"]

QUESTION = "What may the child see?"


def page(studio: Studio, pupil_id: str, day: date | None = None) -> Page:
    """The card of a pupil's lesson, the last one where no day is given. Raises UnknownName on an unknown pupil."""
    on = desk(studio, "card", pupil_id, day)
    return Page(QUESTION, on.lesson.pupil, word("paper.name.card"), [paper_panel(studio, on)])
