"""``keysense note``, ``slip`` and ``card``: drafted from what was kept, signed, and only then written out."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from keysense.cli.glue import StudioDir, echo, open_studio, progress

if TYPE_CHECKING:
    from datetime import date

    from keysense.studio.rows import PaperKind

__all__ = ["card", "note", "slip"]

PupilName = Annotated[str, typer.Argument(metavar="PUPIL", help="The nickname.")]
Day = Annotated[
    str, typer.Option("--day", metavar="DATE", help="Of which lesson, such as 2026-09-01; else the last one.")
]
Sign = Annotated[str, typer.Option("--sign", metavar="NAME", help="Sign it with your name: you stand for every word.")]
Write = Annotated[
    Path | None,
    typer.Option("--write", metavar="FILE", help="Write it, once signed: plain text, or .html, or .pdf."),
]


def note(pupil: PupilName, day: Day = "", sign: Sign = "", write: Write = None, studio: StudioDir = None) -> None:
    """Draft the note of a lesson to the family: what was made, what was listened for, what to enjoy at home.

    Read it, change it on the page (keysense serve), and sign it. A draft is never written out: only a signed note
    leaves. If health comes into it: write what helps, not the diagnosis.
    """
    _paper("note", pupil, day, sign, write)


def slip(pupil: PupilName, day: Day = "", sign: Sign = "", write: Write = None, studio: StudioDir = None) -> None:
    """Draft the home slip of a lesson: a wish, a place, a way of working, a question.

    A slip has two to four short lines and no figure. Read it, change it on the page (keysense serve), and sign it; only
    a signed slip leaves.
    """
    _paper("slip", pupil, day, sign, write)


def card(pupil: PupilName, day: Day = "", sign: Sign = "", write: Write = None, studio: StudioDir = None) -> None:
    """Draft the child's card of a lesson: one picture to colour in, one thing that came, a question, one thing to try.

    A card holds no figure, and "no card today" is a choice on its page (keysense serve). Read it, change it there, and
    sign it; only a signed card leaves.
    """
    _paper("card", pupil, day, sign, write)


def _paper(kind: PaperKind, pupil: str, day: str, name: str, file: Path | None) -> None:
    from keysense.export import export_paper
    from keysense.papers import as_text, desk
    from keysense.papers import sign as sign_it

    with open_studio(create=False) as opened:
        who, of_day = opened.find_pupil(pupil).id, _day(day)
        with progress("gathering what was kept"):
            on = desk(opened, kind, who, of_day)
        if name and not on.is_signed:
            sign_it(opened, on, {}, name)
            on = desk(opened, kind, who, on.lesson.day)
        if file is not None:
            echo(f"Written: {export_paper(opened, on, file)}")
            return
    echo(as_text(on), nl=False)
    for said in () if on.is_signed else on.remarks:
        echo(said)


def _day(text: str) -> date | None:
    from datetime import date

    from keysense.errors import StudioError

    if not text:
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError as cause:
        raise StudioError(f"--day {text}: write year-month-day, such as 2026-09-01") from cause
