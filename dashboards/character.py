"""How would you like it to sound? One character: its word, and what is wished of each dimension."""

from __future__ import annotations

from keysense.comparing.characters import WISHES, Character, shipped_characters
from keysense.errors import UnknownName
from keysense.page import Page, Panel
from keysense.studio.studio import Studio
from keysense.words import word

__all__ = ["QUESTION", "page"]

QUESTION = "How would you like it to sound?"


def page(studio: Studio, said: str = "") -> Page:
    """The form of a character, empty for a new one; raises UnknownName on a word the studio does not know."""
    known = studio.characters()
    if said and said not in known:
        raise UnknownName(word("notfound.said"))
    character = known.get(said) or Character("")
    content = {
        "character": character,
        "dimensions": [(dimension, _choices(dimension)) for dimension in WISHES],
        "own": bool(said) and studio.is_own_character(said),
        "ships": said in {one.word for one in shipped_characters()},
    }
    title = said or word("character.fresh")
    links = [{"href": "/pieces", "said": word("piece.all")}]
    return Page(
        QUESTION, title, word("character.title") if said else "",
        [Panel("character", "", content), Panel("links", "", {"said": "", "links": links})],
    )  # fmt: skip


def _choices(dimension: str) -> list[tuple[str, str]]:
    keys = {wish: f"want.{dimension}.{wish}" if wish == dimension else f"want.{wish}" for wish in WISHES[dimension]}
    return [("", word("character.no_wish")), *((wish, word(key)) for wish, key in keys.items())]
