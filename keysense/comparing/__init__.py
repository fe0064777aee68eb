"""Two takes side by side, and one finding over the weeks."""

from __future__ import annotations

from keysense.comparing.characters import Character, read_character, shipped_characters
from keysense.comparing.compare import Comparison, Dimension, compare
from keysense.comparing.outcomes import Outcome
from keysense.comparing.weeks import WeekLine, WeekPoint, weeks

__all__ = [
    "Character",
    "Comparison",
    "Dimension",
    "Outcome",
    "WeekLine",
    "WeekPoint",
    "compare",
    "read_character",
    "shipped_characters",
    "weeks",
]
