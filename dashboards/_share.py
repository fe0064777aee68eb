"""The child's share on a page: the guess beside what was heard, the line drawn before, remarks, words of their own."""

from __future__ import annotations

from typing import Any

from keysense.dashboards._names import NamedTake

from keysense.findings.reading import Reading
from keysense.page import Panel
from keysense.practice import Practice
from keysense.studio.rows import Context
from keysense.studio.share import DrawnWish
from keysense.studio.studio import Studio
from keysense.words import word
from keysense.words.guessing import say_grown

__all__ = [
    "draw_link",
    "draw_next",
    "guessed",
    "own_word",
    "remarks_for_all",
    "remarks_for_teacher",
    "two_ears",
    "wished_panel",
]


def guessed(reading: Reading, guess: str) -> Panel:
    """What the child heard, said back beside what was heard; where the two differ, both are drawn."""
    said, heard = say_grown(reading, guess)
    return Panel("guessed", word("ask.ears"), {"said": said, "pictures": two_ears(guess, heard)})


def two_ears(guess: str, heard: str | None) -> list[tuple[str, str]]:
    """The pictures of both, where they differ."""
    if guess == heard:
        return []
    yours = [(word("guess.yours"), guess)]
    return yours if heard is None else [*yours, (word("guess.mine"), heard)]


def wished_panel(
    reading: Reading, wished: DrawnWish, back: str, bounds: tuple[float, float], practice: Practice
) -> Panel:
    """In words where it went the way that was drawn, the same as a table, and the press that takes the line away.

    practice: the teacher's own table, which says what moves and what stays level.
    """
    steps = {name: practice.value(name) for name in ("loudness_step", "drawn_step")}
    content = {"reading": reading, "wished": wished, "back": back, "bounds": bounds, **steps}
    return Panel("wished", word("draw.name"), content)


def draw_link(named: NamedTake) -> list[Panel]:
    """Where the next line can be drawn."""
    take = named.take
    if not take.pupil_id or not take.piece_id or take.is_model or take.state != "kept":
        return []
    link = {"pupil": take.pupil_id, "piece": take.piece_id, "character": take.character}
    return [Panel("drawlink", "", {**link, "quiet": False, "waits": False})]


def draw_next(studio: Studio, context: Context) -> list[Panel]:
    """Where the next line can be drawn while a pupil and a piece are carried; a line that waits says so."""
    if not context.pupil_id or not context.piece_id:
        return []
    waits = studio.waiting_wish(context.pupil_id, context.piece_id, context.character) is not None
    link = {"pupil": context.pupil_id, "piece": context.piece_id, "character": context.character}
    return [Panel("drawlink", word("draw.name"), {**link, "quiet": True, "waits": waits})]


def remarks_for_all(studio: Studio, named: NamedTake) -> list[Panel]:
    """What the pupil says of it, and room to say something."""
    if named.take.is_model or named.take.state != "kept":
        return []
    return [Panel("remarks", word("remark.yours"), _remarks(studio, named, "pupil", word("remark.child.label")))]


def remarks_for_teacher(studio: Studio, named: NamedTake) -> list[Panel]:
    """The teacher's own lines, behind the fold, with the usual cautions."""
    if named.take.state != "kept":
        return []
    content = _remarks(studio, named, "teacher", word("remark.teacher.label"))
    cautions = [word("remark.health"), word("remark.safe")]
    return [Panel("remarks", word("remark.teacher"), {**content, "cautions": cautions}, for_teacher=True)]


def _remarks(studio: Studio, named: NamedTake, by: str, label: str) -> dict[str, Any]:
    rows = studio.remarks(named.take.id, by=by)
    who = named.pupil if by == "pupil" else ""
    return {"take": named.take.id, "by": by, "label": label, "rows": rows, "who": who, "cautions": []}


def own_word(studio: Studio, named: NamedTake) -> dict[str, Any]:
    """What this pupil calls the character of this take; ``pupil`` is empty where there is nobody to ask."""
    take = named.take
    own = studio.own_word(take.pupil_id, take.character)
    asked = bool(take.pupil_id and take.character and take.state == "kept" and not take.is_model)
    said = {"word": own.word, "wish": own.wish, "take": take.id}
    return {"pupil": take.pupil_id if asked else "", "character": take.character, **said}
