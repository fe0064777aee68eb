"""What has changed, as far as we can tell? One pupil's steps, week by week, each hand by itself."""

from __future__ import annotations

from keysense.comparing import weeks
from keysense.page import Later, Page, Panel
from keysense.practice import read_practice
from keysense.studio.rows import MANNERS, Piece, Pupil
from keysense.studio.studio import Studio
from keysense.words import word

__all__ = ["QUESTION", "choose", "page"]

QUESTION = "What has changed, as far as we can tell?"

FINDING, WISH = "evenness_timing", "even"


def choose(studio: Studio) -> Page:
    """Whose weeks? In the order of the register; pupils are never ordered by what was heard."""
    links = [{"href": f"/weeks/{pupil.id}", "said": pupil.nickname} for pupil in studio.pupils()]
    said = "" if links else word("weeks.none")
    return Page(
        QUESTION,
        word("weeks.title"),
        "",
        [Panel("links", word("weeks.choose"), {"links": links, "said": said, "names": True})],
    )


def page(studio: Studio, pupil_id: str) -> Page:
    """One pupil's weeks: the standing warm-ups first, then the pieces. Raises UnknownName."""
    pupil = studio.pupil(pupil_id)
    return Page(QUESTION, pupil.nickname, word("weeks.above"), Later(lambda: _panels(studio, pupil)))


def _panels(studio: Studio, pupil: Pupil) -> list[Panel]:
    panels: list[Panel] = []
    for piece in sorted(studio.pieces(), key=lambda piece: not piece.is_warmup):
        panels += _of_piece(studio, pupil, piece, len(panels))
    return panels or [Panel("text", word("weeks.title"), {"said": [word("weeks.none")]})]


def _read_once(studio: Studio, pupil: Pupil, piece: Piece) -> bool:
    """A card is read at first sight once, and has no weeks."""
    takes = studio.takes(pupil=pupil.id, piece=piece.id, state="kept")
    return all(take.manner == MANNERS[0] for take in takes)


def _of_piece(studio: Studio, pupil: Pupil, piece: Piece, before: int) -> list[Panel]:
    panels: list[Panel] = []
    if _read_once(studio, pupil, piece):
        return panels
    for hand in ("R", "L", None):
        points = studio.weeks_of(pupil.id, piece.id, FINDING, hand)
        if not points or (piece.is_warmup and piece.warmup_hand and hand != piece.warmup_hand):
            continue
        line = weeks(points, WISH, practice=read_practice(studio.folder.own_practice))
        name = word("weeks.name.plain", piece=piece.title)
        if hand is not None:
            name = word("weeks.name", piece=piece.title, hand=word(f"place.hand.{hand}"))
        closer = f"/part/weeks/{pupil.id}/{before + len(panels) + 1}"
        content = {"line": line, "finding": FINDING, "name": name, "explore": closer, "first": not before + len(panels)}
        panels.append(Panel("weeks", name, content))
        panels.append(Panel("weektable", name, content, for_teacher=True))
    return panels
