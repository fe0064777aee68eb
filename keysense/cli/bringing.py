"""``keysense bring``: takes that were recorded elsewhere."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from keysense.cli.glue import StudioDir, echo, open_studio, progress, read_take_file
from keysense.cli.naming import told
from keysense.errors import StudioError, TakeFileError

__all__ = ["bring"]


def bring(
    files: Annotated[list[str], typer.Argument(metavar="FILE...", help="Files ending .mid, one take in each.")],
    line: Annotated[
        str, typer.Option("--for", metavar="WORDS", help="Who played what, and how: 'pip cat sleepy'.")
    ] = "",
    on: Annotated[
        str,
        typer.Option("--on", metavar="DATE", help="The day it was played, such as 2026-09-01; else the file's own."),
    ] = "",
    studio: StudioDir = None,
) -> None:
    """Bring in playing that another device recorded, as .mid files.

    Without a name they wait for one and are wiped after 24 hours, like everything that nobody keeps.
    """
    from keysense.files import read_whole
    from keysense.studio.looking import heard
    from keysense.words import counted

    with progress("reading the files"):
        takes = [(path, read_take_file(path), read_whole(path)) for path in files]
    for path, take, _ in takes:
        if not len(take):
            raise TakeFileError(f"{path}: not one key was pressed in it, so there is nothing to bring")
    with open_studio() as opened:
        if line and not opened.propose(line).sure:
            raise StudioError(opened.propose(line).question)
        refs = []
        with opened.together():
            for path, take, smf in takes:
                when = _day(on) if on else datetime.fromtimestamp(Path(path).stat().st_mtime, UTC)
                refs.append(opened.add_take(take, smf, started_utc=when, source="file"))
                if line:
                    opened.name_line(refs[-1], line)
        with progress("listening to them"):
            for ref in refs:
                heard(opened, ref)
        for (path, take, _), ref in zip(takes, refs, strict=True):
            named = told(opened, opened.take(ref))
            echo(f"{Path(path).name}: take {ref[:8]}, {counted('n.notes', len(take))}, {named}.")


def _day(text: str) -> datetime:
    try:
        day = datetime.fromisoformat(text)
    except ValueError as cause:
        raise StudioError(f"{text!r} is no date: write year-month-day, such as 2026-09-01") from cause
    return day.astimezone(UTC)
