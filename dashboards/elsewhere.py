"""What was played somewhere else? A lesson kept on another machine, brought into this studio."""

from __future__ import annotations

from collections.abc import Sequence

from keysense.page import Page, Panel
from keysense.studio.gathering import Gathered
from keysense.studio.studio import Studio
from keysense.words import counted, word

__all__ = ["QUESTION", "page"]

QUESTION = "What was played somewhere else?"


def page(
    studio: Studio,
    *,
    folder: str = "",
    both: Sequence[str] = (),
    same: Sequence[str] = (),
    found: Gathered | None = None,
) -> Page:
    """How to bring it home.

    both: nicknames in both registers of which nobody said yet whether that is one child; same: those of which it was
    said. found: what came, where something was brought.
    """
    panels = [] if found is None else [_came(found)]
    content = {"folder": folder, "both": both, "same": same}
    panels.append(Panel("gather", word("gather.name"), content))
    panels.append(Panel("links", "", {"said": "", "links": [{"href": "/studio", "said": word("gather.back")}]}))
    return Page(QUESTION, word("gather.title"), "", panels)


def _came(found: Gathered) -> Panel:
    said = [counted("gather.takes", found.takes), *([counted("gather.here", found.here)] if found.here else [])]
    return Panel("text", word("gather.came"), {"said": said})
