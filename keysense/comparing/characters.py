"""Characters: what is asked of a tune, as plain TOML files that a teacher can write.

Conventions
    A file holds ``word``, ``italian``, ``says`` and a table ``[wishes]`` by dimension; it may hold marks of its own as
    ``[[marks]]`` rows of kind, start_quarter, end_quarter and, if wanted, hand, value and id. A wish is a direction,
    never an amount. Where a wish and the page disagree the wish stands: `keysense.findings.asked`. Whatever else a file
    holds is refused by its name: a misspelt table asks for nothing, and nobody would know. Marks stand in the quarters
    of one tune; `must_fit` refuses those beyond its end. A studio's character is asked of all its tunes: where one is
    too short for a mark, that mark is not asked there.

Findings
    None of its own: what is asked.

References
    None: the dimensions and their words are common practice, no source.
"""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass, field
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any, get_args

from keysense.errors import CharacterError, TargetError
from keysense.targets.target import Mark, MarkKind, Target

__all__ = ["WISHES", "Character", "must_fit", "read_character", "shipped_characters", "wish_direction", "wishes_for"]

WISHES: dict[str, tuple[str, str]] = {
    "tempo": ("slower", "quicker"),
    "loudness": ("softer", "louder"),
    "contrast": ("less", "more"),
    "touch": ("apart", "joined"),
    "evenness": ("even", "free"),
    "breath": ("none", "breath"),
}
"""By dimension: the wish that the figure be smaller, and the wish that it be larger."""

_FIELDS = ("word", "italian", "says", "wishes", "marks")
_OF_A_MARK = ("kind", "start_quarter", "end_quarter", "hand", "value", "id")
_SPANS = ("crescendo", "diminuendo", "slur", "ritardando", "accelerando")
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
        if not isinstance(self.wishes, dict):
            raise CharacterError(f"{self.word}: wishes is {self.wishes!r}: give a wish by its dimension")
        if not isinstance(self.marks, tuple) or not all(isinstance(mark, Mark) for mark in self.marks):
            raise CharacterError(f"{self.word}: marks is {self.marks!r}: give a tuple of marks")
        for dimension, wish in self.wishes.items():
            if dimension not in WISHES or wish not in WISHES[dimension]:
                raise CharacterError(f"{self.word}: {_known(dimension, wish)}")


def _known(dimension: str, wish: str) -> str:
    if dimension not in WISHES:
        return (
            f"there is no dimension {dimension!r} to wish in; there are {', '.join(WISHES)}{_meant(dimension, WISHES)}"
        )
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


def must_fit(character: Character, target: Target) -> None:
    """Raises CharacterError where a mark of the character begins or ends beyond the music."""
    for mark in character.marks:
        if mark.start_quarter >= target.end_quarter or mark.end_quarter > target.end_quarter:
            raise CharacterError(
                f"{character.word}: {mark.kind} {mark.id!r} goes from quarter {mark.start_quarter:g} to "
                f"{mark.end_quarter:g}, and the music ends at {target.end_quarter:g}: count quarters from the first "
                "bar line, 0"
            )


def _character(kept: dict[str, Any], name: str) -> Character:
    _only("the file", kept, _FIELDS)
    word, italian, says = (_text("the file", kept, field, {"word": name}) for field in ("word", "italian", "says"))
    if not word.strip():
        raise CharacterError("word is empty: give the word the character goes by, or leave the line out")
    wishes, rows = kept.get("wishes", {}), kept.get("marks", [])
    if not isinstance(wishes, dict):
        raise CharacterError(f'wishes is {wishes!r}: write a table [wishes] with a line a dimension, tempo = "slower"')
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise CharacterError(f"marks is {rows!r}: write a table [[marks]] for each mark")
    marks = tuple(_mark(row, word, number) for number, row in enumerate(rows, 1))
    ids = [mark.id for mark in marks]
    if twice := [one for one in ids if ids.count(one) > 1]:
        raise CharacterError(f"two marks have the id {twice[0]!r}: give each its own, or none")
    return Character(word, italian, wishes, marks, says)


def _mark(row: dict[str, Any], word: str, number: int) -> Mark:
    where = f"mark {number}"
    _only(where, row, _OF_A_MARK)
    if missing := [field for field in _OF_A_MARK[:3] if field not in row]:
        raise CharacterError(f"{where} has no {', '.join(missing)}: a mark needs {', '.join(_OF_A_MARK[:3])}")
    kind: Any = _text(where, row, "kind")
    if kind not in get_args(MarkKind):
        known = get_args(MarkKind)
        raise CharacterError(f"{where} has the kind {kind!r}; there are {', '.join(known)}{_meant(kind, known)}")
    start, end = (_quarters(where, row, field) for field in ("start_quarter", "end_quarter"))
    if kind in _SPANS and end == start:
        raise CharacterError(f"{where}: a {kind} from {start:g} to {end:g} has no length: give an end after its start")
    hand, value = _text(where, row, "hand"), _text(where, row, "value")
    try:
        return Mark(kind, start, end, _text(where, row, "id") or f"{word}-{number}", hand, value, layer=word)
    except TargetError as cause:
        raise CharacterError(f"{where}: {cause}") from cause


def _only(where: str, kept: dict[str, Any], fields: tuple[str, ...]) -> None:
    """Refuses what is not among the fields there can be."""
    for name in kept:
        if name not in fields:
            can = f"it can have {', '.join(fields)}{_meant(name, fields)}"
            raise CharacterError(f"{where} has no {name!r}; {can}")


def _meant(said: str, known: Any) -> str:
    close = get_close_matches(said, list(known), 1)
    return f" (did you mean {close[0]!r}?)" if close else ""


def _text(where: str, kept: dict[str, Any], field: str, default: dict[str, str] | None = None) -> str:
    value = kept.get(field, (default or {}).get(field, ""))
    if not isinstance(value, str):
        raise CharacterError(f"{where}: {field} is {value!r}: give a text in quotes")
    return value


def _quarters(where: str, row: dict[str, Any], field: str) -> float:
    value = row[field]
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise CharacterError(f"{where}: {field} is {value!r}: give a number of quarters from the first bar line")
    return float(value)
