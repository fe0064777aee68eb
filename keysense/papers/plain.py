"""A paper as plain text: what goes into an e-mail, and what reads the same without any page."""

from __future__ import annotations

import textwrap
from datetime import date

from keysense.papers.desk import Desk
from keysense.papers.lint import PARTS
from keysense.words import word

__all__ = ["as_text", "day_words", "part_name", "signed_words"]

_WIDTH = 72  # columns that every mail program shows without folding; common practice, no source


def as_text(on: Desk) -> str:
    """Head, parts under their names, and who signed, or that it is a draft; ends with a line end."""
    lines = [f"{on.lesson.pupil}, {word(f'paper.name.{on.kind}')}", day_words(on.lesson.day), ""]
    lines = [on.called, *lines] if on.called else lines
    if on.is_declined:
        return "\n".join([*lines, word("paper.card.none"), ""])
    for part in PARTS[on.kind]:
        said = on.text.get(part, "")
        if said:
            paragraphs = (textwrap.fill(line, _WIDTH) for line in said.splitlines())
            lines += [part_name(on, part), *paragraphs, ""]
    return "\n".join([*lines, signed_words(on), ""])


def part_name(on: Desk, part: str) -> str:
    """What stands beside a part."""
    return word(f"paper.part.{on.kind}.{part}", pupil=on.lesson.pupil)


def day_words(day: date) -> str:
    """``Tuesday 24 November 2026``."""
    slots = {"weekday": word(f"weekday.{day.isoweekday()}"), "month": word(f"month.{day.month}")}
    return word("paper.day", day=day.day, year=day.year, **slots)


def signed_words(on: Desk) -> str:
    """Who stands for it; of a draft, that it is one."""
    return word("paper.signed", name=on.paper.signed_by) if on.paper and on.is_signed else word("paper.draft")
