"""Where a page of one pupil leads on, so that none of them is a dead end."""

from __future__ import annotations

from keysense.page import Panel
from keysense.studio.rows import Pupil
from keysense.words import word

__all__ = ["onward"]


def onward(pupil: Pupil) -> Panel:
    """To the pupil's weeks, and to everybody; it goes into no file that stands alone."""
    links = [
        {"href": f"/weeks/{pupil.id}", "said": word("pages.onward.weeks", pupil=pupil.nickname)},
        {"href": "/studio", "said": word("pages.onward.pupils")},
    ]
    return Panel("pass", word("pages.onward"), {"said": "", "links": links})
