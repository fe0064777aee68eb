"""The Italian words for a pace: one editable table, ``tempo_words.toml``, marked as the convention it is."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path

from keysense.errors import PracticeError

__all__ = ["TempoWord", "read_tempo_words", "words_for"]


@dataclass(frozen=True)
class TempoWord:
    """One word and the paces it is used for, quarters a minute: from low on, below high."""

    word: str
    low_qpm: float
    high_qpm: float


def read_tempo_words(own: Path | None = None) -> tuple[TempoWord, ...]:
    """The table that ships, or the teacher's own in its place; PracticeError naming the file and the word to mend."""
    if own is None or not own.exists():
        return _shipped()
    try:
        return _table(own.read_text("utf-8"), str(own))
    except (OSError, UnicodeDecodeError) as cause:
        raise PracticeError(f"{own} cannot be read ({cause}): mend it, or take it away") from cause


def words_for(tempo_qpm: float, table: tuple[TempoWord, ...]) -> tuple[str, ...]:
    """Every word that is used for a pace, the slower first; none beyond the table."""
    return tuple(one.word for one in table if one.low_qpm <= tempo_qpm < one.high_qpm)


@cache
def _shipped() -> tuple[TempoWord, ...]:
    name = "tempo_words.toml"
    return _table(files("keysense").joinpath(name).read_text("utf-8"), name)


def _table(text: str, file: str) -> tuple[TempoWord, ...]:
    try:
        kept = tomllib.loads(text)
    except tomllib.TOMLDecodeError as cause:
        raise PracticeError(f"{file} cannot be read as TOML ({cause}): mend the line it names") from cause
    words = []
    for word, fields in kept.items():
        try:
            low, high = float(fields["from"]), float(fields["to"])
        except (KeyError, TypeError, ValueError) as cause:
            raise PracticeError(f"{file}: [{word}] needs from and to, quarter notes a minute") from cause
        if not (math.isfinite(low) and math.isfinite(high) and 0 < low < high):
            raise PracticeError(f"{file}: [{word}] goes from {low:g} to {high:g}: give two paces, the slower first")
        words.append(TempoWord(word, low, high))
    return tuple(sorted(words, key=lambda one: (one.low_qpm, one.high_qpm)))
