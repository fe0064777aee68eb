"""What the templates of papers are given: the words, their names, the picture, and what to look at once more."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from keysense.papers.desk import Desk
from keysense.papers.lint import LIMITS, PARTS
from keysense.papers.plain import day_words, part_name
from keysense.plots.drawing import thread_drawing
from keysense.plots.outline import tune_shape
from keysense.plots.under import drawn_from
from keysense.words import word

__all__ = ["paper"]

_HINTS = {"home": "paper.health", "says": "paper.pupil_line"}


def paper(content: dict[str, Any]) -> dict[str, Any]:
    """One paper, ready to be laid out: parts with their words, the picture under the part that it belongs to."""
    on: Desk = content["desk"]
    return {
        "kind": on.kind,
        "pupil": on.lesson.pupil,
        "called": on.called,
        "day": day_words(on.lesson.day),
        "weekday": word(f"weekday.{on.lesson.day.isoweekday()}"),
        "path": f"/{on.kind}/{on.lesson.pupil_id}/{on.lesson.day}",
        "parts": [_part(on, part) for part in PARTS[on.kind]],
        "picture": _picture(content),
        "title": _title(content),
        "piece": content["piece"],
        "character": content["character"],
        "is_signed": on.is_signed,
        "is_declined": on.is_declined,
        "is_kept": on.paper is not None,
        "is_empty": not on.lesson.played,
        "signed_by": on.paper.signed_by if on.paper else "",
        "signer": content["signer"],
        "remarks": on.remarks,
        "most": LIMITS[on.kind],
    }


def _part(on: Desk, part: str) -> dict[str, Any]:
    said = on.text.get(part, "")
    hint = word(_HINTS[part]) if part in _HINTS and on.kind == "note" else ""
    rows = max(1, -(-len(said) // 62))
    return {"name": part, "label": part_name(on, part), "said": said, "hint": hint, "rows": rows}


def _title(content: dict[str, Any]) -> str:
    """What the picture is of."""
    said: str = content["character"] or content["piece"] or content["desk"].lesson.pupil
    return said


def _picture(content: dict[str, Any]) -> Markup:
    """The shape of the tune, uncoloured on the card; the thread drawing where there is no shape; else nothing."""
    reading, take, kind = content["reading"], content["take"], content["desk"].kind
    if kind == "slip" or take is None:
        return Markup("")
    title = word("paper.card.picture" if kind == "card" else "paper.note.picture", title=_title(content))
    shape = ""
    if reading is not None and reading.contours:
        shape = tune_shape(drawn_from(reading), title, colour_in=kind == "card")
    return Markup(shape or thread_drawing(take, title, width=900))  # noqa: S704 - our own drawings
