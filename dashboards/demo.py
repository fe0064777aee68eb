"""The demo studio while it is being made: what is played just now."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from keysense.page import Page, Panel
from keysense.words import word

__all__ = ["QUESTION", "page"]

QUESTION = "How does it look when it is full?"
_MOST = 14


def page(state: Literal["none", "making", "ready", "spoilt"], lines: Sequence[str], why: str = "") -> Page:
    """How far it has come; ``lines`` is what was told of each playing, in its order."""
    said = word(f"demo.{state}", why=why) if state == "spoilt" else word(f"demo.{state}")
    told = [line.strip() for text in lines for line in text.splitlines() if line.strip()]
    content = {"state": state, "said": said, "lines": told[-_MOST:]}
    return Page(QUESTION, word("demo.title"), "", [Panel("making", word("demo.name"), content)])
