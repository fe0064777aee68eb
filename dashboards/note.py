"""What does the family read? The note of one lesson, or its home slip: drafted, changed in place, signed."""

from __future__ import annotations

from contextlib import suppress
from datetime import date

from keysense.errors import StudioError, TargetError
from keysense.page import Page, Panel
from keysense.papers import Desk, desk
from keysense.papers.plain import day_words
from keysense.studio.looking import look_at
from keysense.studio.rows import PaperKind
from keysense.studio.studio import Studio
from keysense.words import word

__all__ = ["QUESTION", "page", "paper_panel"]

QUESTION = "What does the family read?"


def page(studio: Studio, pupil_id: str, day: date | None = None, *, kind: PaperKind = "note") -> Page:
    """The note or the slip of a pupil's lesson, the last one where no day is given. Raises UnknownName."""
    on = desk(studio, kind, pupil_id, day)
    return Page(QUESTION, on.lesson.pupil, word(f"paper.name.{kind}"), [paper_panel(studio, on)])


def paper_panel(studio: Studio, on: Desk) -> Panel:
    """A paper with the take in its picture: what was heard in it, or its notes alone where there is no music."""
    reading = take = None
    piece = character = ""
    if on.pictured:
        stored = studio.take(on.pictured)
        take = studio.take_notes(stored.id)
        character, piece = stored.character, studio.piece(stored.piece_id).title if stored.piece_id else ""
        with suppress(StudioError, TargetError):
            looked = look_at(studio, stored.id)
            reading = None if looked.following.lost else looked
    shown = {"reading": reading, "take": take, "piece": piece, "character": character}
    return Panel("paper", day_words(on.lesson.day), {"desk": on, "signer": studio.signer, **shown})
