"""How shall it go? Room to draw the loudness of a tune before it is played."""

from __future__ import annotations

from keysense.errors import StudioError, TargetError
from keysense.page import Page, Panel
from keysense.studio.studio import Studio
from keysense.words import word

__all__ = ["QUESTION", "page"]

QUESTION = "How shall it go?"


def page(studio: Studio, pupil_id: str, piece_id: str, *, character: str = "", part: int = 0) -> Page:
    """The field for one pupil, piece and character. part: which eight bars, counted from 0.

    Raises UnknownName on a pupil or a piece that is not there.
    """
    pupil, piece = studio.pupil(pupil_id), studio.piece(piece_id)
    above = ", ".join(said for said in (piece.title if character else "", pupil.nickname) if said)
    title = word("draw.title")
    try:
        target = studio.target_of(piece_id).target
    except (StudioError, TargetError):
        panels = [Panel("text", word("draw.name"), {"said": [word("draw.none")]})]
        return Page(QUESTION, title, above, panels)
    waiting = studio.waiting_wish(pupil_id, piece_id, character)
    content = {
        "target": target, "pupil": pupil_id, "piece": piece_id, "character": character, "part": part,
        "waiting": waiting, "title": piece.title,
    }  # fmt: skip
    above = ", ".join((above, character or piece.title))
    return Page(
        QUESTION, title, above, [*_level(studio, pupil_id), Panel("drawfield", character or piece.title, content)]
    )


def _level(studio: Studio, pupil_id: str) -> list[Panel]:
    """Where the last take came without loud and soft, a line would not be heard: said before anybody draws one."""
    last = next(iter(studio.takes(pupil=pupil_id, state="kept", limit=1)), None)
    is_level = last is not None and "one_velocity" in last.flags
    return [Panel("text", "", {"said": [word("draw.level")]})] if is_level else []
