"""Where did the tune wait at first sight? One thing for the child; every kind of note for the teacher."""

from __future__ import annotations

from keysense.dashboards._onward import onward

from keysense.page import Page, Panel
from keysense.studio.many import sight_of
from keysense.studio.rows import MANNERS, Piece
from keysense.studio.studio import Studio
from keysense.words import word
from keysense.words.choosing import FIRST
from keysense.words.many import say_sight, say_sight_to_child

__all__ = ["QUESTION", "page"]

QUESTION = "Where did the tune wait at first sight?"


def page(studio: Studio, pupil_id: str) -> Page:
    """All cards of one pupil together. Raises UnknownName."""
    pupil = studio.pupil(pupil_id)
    reading, pieces = sight_of(studio, pupil.id)
    panels = [Panel("say", "", {"said": say_sight_to_child(reading), "aloud": True})]
    if pieces:
        first, more = _told(say_sight(reading))
        panels += [
            Panel("links", word("sight.again"), {"said": "", "links": _cards(studio, pupil.id, pieces)}),
            onward(pupil),
            Panel("text", word("sight.name"), {"said": first, "more": more}, for_teacher=True),
        ]
    else:
        said = word("sight.no_cards", example=word("sight.example", pupil=pupil.nickname.lower()))
        panels += [onward(pupil), Panel("text", word("sight.name"), {"said": [said]}, for_teacher=True)]
    return Page(QUESTION, word("sight.title"), word("sight.above", pupil=pupil.nickname), panels)


def _told(said: list[str]) -> tuple[list[str], list[str]]:
    """As many sentences as are read at once, the last of them whose caution it is; and those behind "more"."""
    *heard, caution = said
    return [*heard[: FIRST - 1], caution], heard[FIRST - 1 :]


def _cards(studio: Studio, pupil_id: str, pieces: tuple[Piece, ...]) -> list[dict[str, str]]:
    """Each card with the take in which it was read."""
    takes = studio.takes(pupil=pupil_id, state="kept")
    read = {take.piece_id: take.id for take in takes if take.manner == MANNERS[0]}
    return [{"href": f"/take/{read[piece.id][:12]}", "said": piece.title} for piece in pieces if piece.id in read]
