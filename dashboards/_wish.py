"""The one thing to try on a page of one take: the wish of its lesson for its tune, and the press that carries it on."""

from __future__ import annotations

from typing import Any

from keysense.dashboards._names import NamedTake

from keysense.findings.reading import Reading
from keysense.page import Panel
from keysense.papers import wish_for
from keysense.studio.studio import Studio
from keysense.words import word
from keysense.words.choosing import one_to_try
from keysense.words.trying import say_try

__all__ = ["again", "again_plain", "wish_from", "wish_of"]


def wish_of(studio: Studio, named: NamedTake, reading: Reading) -> dict[str, Any]:
    """What the press asks for, and of which take it carries the name on; a take of nobody is asked by itself."""
    take = named.take
    if take.pupil_id and take.state == "kept" and not take.is_model:
        take_id, said = wish_for(studio, take)
    else:
        finding = one_to_try(reading.findings)
        take_id, said = take.id, "" if finding is None else say_try(finding)
    return wish_from(take_id, said)


def wish_from(take_id: str, said: str) -> dict[str, Any]:
    """A wish and the take it is asked of, with the words of its press."""
    return {"take": take_id, "said": said, "press": word("press.again" if said else "press.again.plain")}


def again_plain(take_id: str) -> dict[str, Any]:
    """The press alone, where nothing is wished."""
    return wish_from(take_id, "")


def again(wish: dict[str, Any]) -> list[Panel]:
    """The slip of paper with its press; nothing where nothing is wished."""
    return [Panel("again", word("wish.name"), wish)] if wish["said"] else []
