"""Characters: what is asked of a tune, as plain TOML files that a teacher can write.

Conventions
    A file holds ``word``, ``italian``, ``says`` and a table ``[wishes]`` by dimension; it may hold marks of its own as
    ``[[marks]]`` rows of kind, start_quarter, end_quarter and, if wanted, hand and value. A wish is a direction, never
    an amount. Where a wish and the page disagree the wish stands: `keysense.findings.asked`.

Findings
    None of its own: what is asked.

References
    None: the dimensions and their words are common practice, no source.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from keysense.errors import CharacterError, TargetError
from keysense.targets.target import Mark

__all__ = ["WISHES", "Character", "read_character", "shipped_characters", "wish_direction", "wishes_for"]

WISHES: dict[str, tuple[str, str]] = {
    "tempo": ("slower", "quicker"),
    "loudness": ("softer", "louder"),
    "contrast": ("less", "more"),
    "touch": ("apart", "joined"),
    "evenness": ("even", "free"),
    "breath": ("none", "breath"),
}
"""By dimension: the wish that the figure be smaller, and the wish that it be larger."""

_DIMENSION_OF = {
    "tempo": "tempo",
    "loudness_contrast": "contrast",
    **dict.fromkeys(("overlap", "overlap_ratio", "hold_ratio"), "touch"),
    **dict.fromkeys(
        ("evenness_timing", "evenness_timing_robust", "evenness_loudness", "sd_ioi", "cv_ioi", "period_spread"),
        "evenness",
    ),
    **dict.fromkeys(("breath", "breath_time", "breath_air"), "breath"),
}


@dataclass(frozen=True)
class Character:
    """What is asked: the child's word for it, the Italian beneath, wishes by dimension, marks of its own."""

    word: str
    italian: str = ""
    wishes: dict[str, str] = field(default_factory=dict)
    marks: tuple[Mark, ...] = ()
    says: str = ""

    def __post_init__(self) -> None:
        for dimension, wish in self.wishes.items():
            if dimension not in WISHES or wish not in WISHES[dimension]:
                raise CharacterError(f"{self.word}: {_known(dimension, wish)}")


def _known(dimension: str, wish: str) -> str:
    if dimension not in WISHES:
        return f"there is no dimension {dimension!r} to wish in; there are {', '.join(WISHES)}"
    return f"{dimension} cannot be wished {wish!r}; it can be {' or '.join(WISHES[dimension])}"


def wish_direction(dimension: str, wish: str | None) -> int:
    """+1 where a larger figure is wished for, -1 where a smaller one is, 0 where none is."""
    return 0 if wish is None else -1 if wish == WISHES[dimension][0] else 1


def wishes_for(finding: str) -> tuple[str, ...]:
    """What may be wished of one finding: as its dimension is wished, and always that the figure be lower or higher."""
    return (*WISHES.get(_DIMENSION_OF.get(finding, ""), ()), "lower", "higher")


def read_character(path: str | Path) -> Character:
    """A character from its TOML file; CharacterError naming the file and what to mend in it."""
    path = Path(path)
    try:
        return _character(tomllib.loads(path.read_text("utf-8")), path.stem)
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as cause:
        raise CharacterError(f"{path} cannot be read as TOML ({cause}): mend the line it names") from cause
    except CharacterError as cause:
        raise CharacterError(f"{path}: {cause}") from cause


@cache
def shipped_characters() -> tuple[Character, ...]:
    """The characters that ship, in the order of their words."""
    folder = files("keysense.comparing").joinpath("characters")
    kept = [entry for entry in folder.iterdir() if entry.name.endswith(".toml")]
    found = (_character(tomllib.loads(entry.read_text("utf-8")), entry.name) for entry in kept)
    return tuple(sorted(found, key=lambda character: character.word))


def _character(kept: dict[str, Any], name: str) -> Character:
    word = kept.get("word", name)
    wishes, says, italian = kept.get("wishes", {}), kept.get("says", ""), kept.get("italian", "")
    if not (isinstance(word, str) and isinstance(wishes, dict) and isinstance(says, str) and isinstance(italian, str)):
        raise CharacterError("word, italian and says are texts and [wishes] is a table")
    marks = tuple(_mark(row, word, number) for number, row in enumerate(kept.get("marks", ()), 1))
    return Character(word, italian, {str(k): str(v) for k, v in wishes.items()}, marks, says)


def _mark(row: Any, word: str, number: int) -> Mark:
    try:
        kind, start, end = row["kind"], float(row["start_quarter"]), float(row["end_quarter"])
    except (KeyError, TypeError, ValueError) as cause:
        raise CharacterError(f"mark {number} needs kind, start_quarter and end_quarter ({cause!r})") from cause
    hand, value = str(row.get("hand", "")), str(row.get("value", ""))
    try:
        return Mark(kind, start, end, str(row.get("id", f"{word}-{number}")), hand, value, layer=word)
    except TargetError as cause:
        raise CharacterError(f"mark {number}: {cause}") from cause
