"""Papers: what was kept in a lesson becomes the draft of a note, a home slip or a child's card."""

from __future__ import annotations

from keysense.papers.aims import Aim, open_aim
from keysense.papers.desk import Desk, afresh, call, called_of, decline, desk, keep, sign
from keysense.papers.drafts import draft
from keysense.papers.lesson import Lesson, Pair, Played, lesson_of
from keysense.papers.lint import LIMITS, PARTS, remarks, too_long
from keysense.papers.of_tune import wish_for
from keysense.papers.plain import as_text
from keysense.papers.pressed import press_wish, pressed, wish_key

__all__ = [
    "LIMITS",
    "PARTS",
    "Aim",
    "Desk",
    "Lesson",
    "Pair",
    "Played",
    "afresh",
    "as_text",
    "call",
    "called_of",
    "decline",
    "desk",
    "draft",
    "keep",
    "lesson_of",
    "open_aim",
    "press_wish",
    "pressed",
    "remarks",
    "sign",
    "too_long",
    "wish_for",
    "wish_key",
]
