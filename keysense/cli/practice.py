"""``keysense practice``: the one table of limits."""

from __future__ import annotations

import textwrap
from typing import Annotated

import typer

from keysense.cli.glue import StudioDir, print_json

__all__ = ["practice"]

_SIDES = {"max": "at most", "min": "at least", "both": "within", "none": ""}


def practice(
    name: Annotated[str, typer.Argument(metavar="[NAME]", help="One row only.")] = "",
    json: Annotated[bool, typer.Option("--json", help="The table, for another program to read.")] = False,
    studio: StudioDir = None,
) -> None:
    """Show every limit that findings are held against.

    Each says where it comes from and what it is for. To set one of your own, write it into practice.toml in your
    studio's folder.
    """
    from keysense.errors import PracticeError
    from keysense.practice import read_practice
    from keysense.studio import studio_folder

    rows = read_practice(studio_folder().practice).rows
    if name:
        if name not in rows:
            raise PracticeError(f"no limit is called {name!r}; keysense practice shows them all")
        rows = {name: rows[name]}
    if json:
        print_json({key: vars(row) for key, row in rows.items()})
        return
    for row in rows.values():
        side = _SIDES[row.side]
        typer.echo(f"{row.name}: {side + ' ' if side else ''}{row.value:g} {row.unit}".rstrip())
        typer.echo(textwrap.fill(row.meaning, 96, initial_indent="    ", subsequent_indent="    "))
        typer.echo(textwrap.fill(f"{row.basis}: {row.source}", 96, initial_indent="    ", subsequent_indent="    "))
