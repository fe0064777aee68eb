"""What the pages say: names in the name column, questions, presses (small letters, the main one with a capital)."""

from __future__ import annotations

__all__ = ["PAGES", "PAGES_COUNTED"]

PAGES: dict[str, str] = {
    "product": "keysense",
}

PAGES_COUNTED: dict[str, tuple[str, str]] = {}
