"""What is kept of this pupil? All of it to be seen, a copy to take along, and the way to erase it."""

from __future__ import annotations

from keysense.dashboards._meaning import meaning
from keysense.dashboards._names import name_takes

from keysense.page import Page, Panel
from keysense.papers.plain import day_words
from keysense.studio.copying import kept_of
from keysense.studio.rows import Pupil
from keysense.studio.studio import Studio
from keysense.words import counted, word

__all__ = ["QUESTION", "page"]

QUESTION = "What is kept of this pupil?"
_COUNTED = ("take", "finding", "paper", "remark", "guess", "drawn_wish", "own_word")


def page(studio: Studio, pupil_id: str) -> Page:
    """The page of what is kept of one pupil; what can be done with it is for the teacher. Raises UnknownName."""
    pupil, kept = studio.pupil(pupil_id), kept_of(studio, pupil_id)
    counts = [counted(f"kept.{name}", len(kept[name])) for name in _COUNTED if name in kept]
    panels = [Panel("text", word("kept.what"), {"said": [word("kept.keys")]})]
    panels += [*_takes(studio, pupil), *_said(kept), *_papers(studio, pupil)]
    panels.append(meaning("take", "note", "slip", "card", "fold"))
    agreed = {"said": _agreed(pupil), "pupil": pupil, "stands": pupil.may_keep}
    panels.append(Panel("agreed", word("kept.agreed"), agreed, for_teacher=True))
    panels.append(Panel("nickname", word("kept.nickname"), {"pupil": pupil}, for_teacher=True))
    counted_said = [" ".join(counts) or word("kept.nothing")]
    panels.append(Panel("text", word("kept.counted"), {"said": counted_said}, for_teacher=True))
    ask = counted("kept.erase.said", len(kept.get("take", ())), pupil=pupil.nickname)
    panels.append(Panel("keptpresses", word("kept.promise"), {"pupil": pupil, "ask": ask}, for_teacher=True))
    return Page(QUESTION, pupil.nickname, word("kept.above"), panels)


def _takes(studio: Studio, pupil: Pupil) -> list[Panel]:
    takes = name_takes(studio, studio.takes(pupil=pupil.id))
    links = [
        {
            "href": f"/take/{one.take.id[:12]}",
            "said": ", ".join(part for part in (one.when, one.piece, one.take.character) if part),
        }
        for one in takes
    ]
    return [Panel("links", word("kept.takes"), {"said": "", "links": links})] if links else []


def _said(kept: dict[str, list[dict[str, object]]]) -> list[Panel]:
    """What was written down of what was said; what the teacher wrote stands behind the fold."""
    by: dict[str, list[str]] = {"pupil": [], "teacher": []}
    for row in kept.get("remark", ()):
        by["pupil" if row["said_by"] == "pupil" else "teacher"].append(f"“{row['said']}”")
    by["pupil"] += [f"“{row[part]}”" for row in kept.get("own_word", ()) for part in ("word", "wish") if row[part]]
    mine = [Panel("text", word("kept.said"), {"said": by["pupil"]})] if by["pupil"] else []
    theirs = Panel("text", word("kept.said.teacher"), {"said": by["teacher"]}, for_teacher=True)
    return [*mine, *([theirs] if by["teacher"] else [])]


def _papers(studio: Studio, pupil: Pupil) -> list[Panel]:
    links = [
        {
            "href": f"/{paper.kind}/{pupil.id}/{paper.lesson_day}",
            "said": f"{word(f'paper.name.{paper.kind}')}, {day_words(paper.lesson_day)}",
        }
        for paper in studio.papers(pupil.id)
    ]
    return [Panel("links", word("kept.papers"), {"said": "", "links": links})] if links else []


def _agreed(pupil: Pupil) -> list[str]:
    """Who agreed to it and when, the first one first; what was taken back says so."""
    said = []
    for one in pupil.agreements:
        until = word("kept.until", day=day_words(one.until)) if one.until else word("kept.until.none")
        key = "kept.agreement.withdrawn" if one.withdrawn else "kept.agreement"
        said.append(word(key, by=one.agreed_by, day=day_words(one.agreed_on), until=until))
    return said or [word("kept.agreement.none")]
