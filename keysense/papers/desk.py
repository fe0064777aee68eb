"""The paper on the desk: the draft made now or the words kept, and the ways to keep, sign and set aside."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from keysense.errors import StudioError
from keysense.papers.drafts import draft, pictured
from keysense.papers.lesson import Lesson, lesson_of
from keysense.papers.lint import PARTS, remarks, too_long
from keysense.studio.rows import Paper, PaperKind
from keysense.studio.studio import Studio

__all__ = ["Desk", "afresh", "call", "called_of", "decline", "desk", "keep", "sign"]

_CALLED, _LONGEST_NAME = "called", 80


@dataclass(frozen=True)
class Desk:
    """One paper as it is seen: kept words where there are any, a fresh draft where there are none.

    called: the name of the studio that it comes from, where it has been given one.
    """

    kind: PaperKind
    lesson: Lesson
    paper: Paper | None
    text: dict[str, str]
    called: str = ""

    @property
    def is_signed(self) -> bool:
        """It may leave."""
        return self.paper is not None and self.paper.is_signed

    @property
    def is_declined(self) -> bool:
        """No such paper this time."""
        return self.paper is not None and self.paper.declined

    @property
    def pictured(self) -> str:
        """The take whose shape stands on it; empty where there is none."""
        there = {played.take_id for played in self.lesson.played}
        kept = next((take for take in (self.paper.basis if self.paper else ()) if take in there), "")
        return kept or pictured(self.lesson)

    @property
    def remarks(self) -> list[str]:
        """What to look at once more before signing."""
        return remarks(self.kind, self.text, self.lesson.names)


def desk(studio: Studio, kind: PaperKind, pupil_id: str, day: date | None = None) -> Desk:
    """The paper of a pupil's lesson; nothing is written by looking at it. Raises UnknownName on an unknown pupil."""
    lesson = lesson_of(studio, pupil_id, day)
    paper = studio.paper(kind, pupil_id, lesson.day)
    written = draft(kind, lesson) if paper is None or paper.declined else paper.text
    return Desk(kind, lesson, paper, {part: written.get(part, "") for part in PARTS[kind]}, called_of(studio))


def called_of(studio: Studio) -> str:
    """The name of the studio, as its papers carry it; empty until it is given one."""
    return str(studio.recall(_CALLED).get("said", ""))


def call(studio: Studio, said: str) -> str:
    """Give the studio a name for its papers, or none; gives the name as it is kept, at most 80 letters."""
    called = " ".join(said.split())[:_LONGEST_NAME]
    studio.remember(_CALLED, {"said": called})
    return called


def keep(studio: Studio, on: Desk, text: Mapping[str, str]) -> Paper:
    """Keep these words of it as a draft; parts that are not given stay as they are."""
    shown = on.pictured
    basis = [shown, *(one.take_id for one in on.lesson.played if one.take_id != shown)] if shown else []
    words = {**on.text, **{part: said for part, said in text.items() if part in PARTS[on.kind]}}
    return studio.keep_paper(on.kind, on.lesson.pupil_id, on.lesson.day, words, basis=basis)


def afresh(studio: Studio, on: Desk) -> Paper:
    """Draft it once more from what is kept by now, instead of the words that stand on it."""
    return keep(studio, on, draft(on.kind, on.lesson))


def sign(studio: Studio, on: Desk, text: Mapping[str, str], by: str) -> Paper:
    """Keep these words and sign them, both or neither; raises StudioError on a paper that is too long, or unsigned."""
    with studio.together():
        paper = keep(studio, on, text)
        if long := too_long(on.kind, paper.text):
            raise StudioError(long)
        return studio.sign_paper(paper.id, by)


def decline(studio: Studio, on: Desk) -> Paper:
    """No such paper this time, by choice."""
    return studio.keep_paper(on.kind, on.lesson.pupil_id, on.lesson.day, {}, declined=True)
