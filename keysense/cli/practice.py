"""``keysense practice``: the one table of limits."""

from __future__ import annotations

import textwrap
from typing import Annotated

import typer

from keysense.cli.glue import StudioDir, print_json

__all__ = ["practice"]


def practice(
    name: Annotated[str, typer.Argument(metavar="[NAME]", help="One row only.")] = "",
    json: Annotated[bool, typer.Option("--json", help="The table, for another program to read.")] = False,
    studio: StudioDir = None,
) -> None:
    """Show every limit that findings are held against, and the words for a pace.

    Each limit says where it comes from and what it is for. To set one of your own, write it into practice.toml in your
    studio's folder; a tempo_words.toml there takes the place of the words.
    """
    from keysense.errors import PracticeError
    from keysense.practice import read_practice
    from keysense.studio import studio_folder
    from keysense.tempo_words import read_tempo_words
    from keysense.words import word

    rows = read_practice(studio_folder().own_practice).rows
    if name:
        if name not in rows:
            raise PracticeError(f"no limit is called {name!r}; keysense practice shows them all")
        rows = {name: rows[name]}
    if json:
        print_json({key: vars(row) for key, row in rows.items()})
        return
    for row in rows.values():
        typer.echo(word(f"practice.{row.side}", name=row.name, value=f"{row.value:g}", unit=row.unit).rstrip())
        for said in (row.meaning, word("practice.basis", basis=row.basis, source=row.source)):
            typer.echo(textwrap.fill(said, 96, initial_indent="    ", subsequent_indent="    "))
    if not name:
        typer.echo(word("practice.tempo"))
        for one in read_tempo_words(studio_folder().tempo_words):
            typer.echo(
                "    " + word("tempo.words.row", word=one.word, low=f"{one.low_qpm:g}", high=f"{one.high_qpm:g}")
            )
