"""How does this tune go? Its music with what is asked in it, how it may be played, and how it came."""

from __future__ import annotations

from keysense.dashboards._teaching import stands, teaching
from keysense.dashboards.pieces import wishes

from keysense.errors import StudioError
from keysense.page import Page, Panel
from keysense.studio.rows import StoredTarget
from keysense.studio.studio import Studio
from keysense.words import counted, word

__all__ = ["QUESTION", "music_of", "page"]

QUESTION = "How does this tune go?"


def page(studio: Studio, piece_id: str) -> Page:
    """The page of one piece; raises UnknownName where it is not on the shelf."""
    piece, stored = studio.piece(piece_id), music_of(studio, piece_id)
    players = studio.players().get(piece_id, 0)
    above = [counted("shelf.played", players) if players else word("shelf.played.none")]
    above.append(word(f"came.{stored.kind if stored else 'none'}"))
    if stored is not None and stored.target.beside is not None:
        above.append(word("two.stands"))
    panels = stands(studio, piece_id)
    if stored is None:
        panels.append(Panel("text", word("piece.music"), {"said": [word("piece.no_music")]}))
    else:
        own = {one.id for one in studio.markings(piece_id)}
        content = {"target": stored.target, "title": piece.title, "layer": "", "heads": False, "own": own}
        panels.append(Panel("score", word("piece.music"), content))
        panels.append(Panel("markpress", word("mark.title"), {"piece": piece_id}))
        panels.append(Panel("wishes", word("piece.asked"), {"rows": wishes(studio), "new": False}))
    panels += [teaching(studio, piece_id), Panel("bringfile", word("piece.newer"), _another(piece_id))]
    panels.append(Panel("links", "", {"said": "", "links": [{"href": "/pieces", "said": word("piece.all")}]}))
    return Page(QUESTION, piece.title, ", ".join(above), panels)


def _another(piece_id: str) -> dict[str, str]:
    return {"action": f"/piece/{piece_id}/file", "said": word("piece.newer.said"), "folded": word("piece.newer.open")}


def music_of(studio: Studio, piece_id: str) -> StoredTarget | None:
    """The newest music of a piece; None where it has none yet."""
    studio.piece(piece_id)
    try:
        return studio.target_of(piece_id)
    except StudioError:
        return None
