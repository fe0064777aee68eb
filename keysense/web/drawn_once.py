"""Pictures of one reading, drawn once: a page that is opened again is given what was drawn for it before."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from typing import Any
from weakref import finalize

from keysense.web.draw_wish import wished_line
from keysense.words import word

__all__ = ["once"]

_MOST = 24
_DRAWN: OrderedDict[tuple[object, ...], dict[str, Any]] = OrderedDict()


def once(draw: Callable[..., dict[str, Any]]) -> Callable[..., dict[str, Any]]:
    """Draw from memory where the very same reading was drawn so before.

    A reading is known by itself, not by what it holds; where it is no longer held, its pictures go with it.
    """

    def drawn(content: dict[str, Any], *how: str) -> dict[str, Any]:
        readings = [reading for reading in (content["reading"], content.get("before")) if reading is not None]
        told = (content.get(key) for key in ("title", "character", "name", "cls", "guessing"))
        said = (*told, word("lane.key"), *how)
        line = wished_line(content.get("wished"))
        key = (draw, *(id(reading) for reading in readings), repr(content["marks"]), content.get("bounds"), line, said)
        kept = _DRAWN.get(key)
        if kept is not None:
            return kept
        made = _DRAWN[key] = draw(content, *how)
        for reading in readings:
            finalize(reading, _DRAWN.pop, key, None)
        if len(_DRAWN) > _MOST:
            _DRAWN.popitem(last=False)
        return made

    return drawn
