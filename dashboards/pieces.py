"""Which tunes are there? The shelf by title, room to bring another, and the characters as they are wished."""

from __future__ import annotations

from typing import Any

from keysense.dashboards._meaning import meaning
from keysense.dashboards._teaching import teaching

from keysense.comparing.characters import Character
from keysense.page import Page, Panel
from keysense.studio.rows import Piece
from keysense.studio.studio import Studio
from keysense.words import counted, word
from keysense.words.pieces import say_character

__all__ = ["QUESTION", "page", "wishes"]

QUESTION = "Which tunes are there?"


def page(studio: Studio) -> Page:
    """Every piece by title: how many play it, how it came. Never ordered by how it was played."""
    kinds = {stored.piece_id: stored.kind for stored in studio.targets()}
    players = studio.players()
    rows = [_row(piece, kinds.get(piece.id, "none"), players.get(piece.id, 0)) for piece in studio.pieces()]
    said = [word("shelf.order")] if rows else [word("shelf.none")]
    panels = [Panel("shelf", word("shelf.name"), {"rows": rows, "said": said})]
    panels += [
        teaching(studio),
        Panel("bringfile", word("bring.name"), {"action": "/pieces", "said": "", "folded": ""}),
    ]
    panels.append(Panel("wishes", word("character.name"), {"rows": wishes(studio), "new": True}))
    panels.append(meaning("character", "wish", "phrase"))
    return Page(QUESTION, word("shelf.title"), "", panels)


def wishes(studio: Studio) -> list[dict[str, Any]]:
    """Each character the studio knows, as wishes in words."""
    return [_wished(character) for character in studio.characters().values()]


def _wished(character: Character) -> dict[str, Any]:
    return {
        "word": character.word,
        "italian": character.italian,
        "says": character.says,
        "wished": say_character(character),
    }


def _row(piece: Piece, kind: str, players: int) -> dict[str, Any]:
    said = [counted("shelf.played", players) if players else word("shelf.played.none"), word(f"came.{kind}")]
    said += [word("shelf.warmup")] if piece.is_warmup else []
    return {"title": piece.title, "href": f"/piece/{piece.id}", "said": said}
