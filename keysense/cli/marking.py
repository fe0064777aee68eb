"""``keysense piece mark``, ``unmark`` and ``marks``: what is asked in the music of a piece, by hand."""

from __future__ import annotations

from typing import Annotated

import typer

from keysense.cli.glue import StudioDir, open_studio
from keysense.cli.plain import PlainCommand

__all__ = ["add_to"]

_KINDS = {"phrase": "phrase", "no-phrase": "no phrase", "guide": "guide", "grows": "crescendo", "fades": "diminuendo"}
_Piece = Annotated[str, typer.Argument(metavar="PIECE", help="The title of a piece, or the beginning of it.")]


def mark(
    piece: _Piece,
    what: Annotated[str, typer.Argument(metavar="WHAT", help=f"One of {', '.join(_KINDS)}.")],
    first: Annotated[str, typer.Argument(metavar="FROM", help="Bar, dot, quarter: 4.1 is the first quarter of bar 4.")],
    last: Annotated[str, typer.Argument(metavar="[TO]", help="Where it ends, if it grows or fades.")] = "",
    layer: Annotated[
        str, typer.Option("--for", metavar="CHARACTER", help="Only when it is played so; else for everyone.")
    ] = "",
    studio: StudioDir = None,
) -> None:
    """Mark the end of a phrase, a guide note, or where it grows or fades; the same again rubs it out."""
    from keysense.errors import TargetError
    from keysense.targets.marking import Marking, read_place

    if what not in _KINDS:
        raise TargetError(f"{what!r} cannot be marked: say one of {', '.join(_KINDS)}")
    begins = read_place(first)
    ends = read_place(last) if what in ("grows", "fades") else begins
    with open_studio(create=False) as opened:
        found = opened.find_piece(piece)
        known = opened.character(layer) if layer else None
        opened.mark(found.id, Marking(_KINDS[what], begins, ends, known.word if known else layer))  # type: ignore[arg-type]
    _tell(found.title)


def unmark(piece: _Piece, studio: StudioDir = None) -> None:
    """Take back the last thing done to the marks of a piece."""
    with open_studio(create=False) as opened:
        found = opened.find_piece(piece)
        opened.undo_mark(found.id)
    _tell(found.title)


def marks(piece: _Piece, studio: StudioDir = None) -> None:
    """Show what is marked by hand in a piece."""
    _tell(piece)


def _tell(title: str) -> None:
    from keysense.words import word
    from keysense.words.pieces import say_marking

    with open_studio(create=False) as opened:
        found = opened.find_piece(title)
        rows = sorted(opened.markings(found.id), key=lambda one: one.first)
        lost = opened.lost_markings(found.id)
    for one in rows:
        waits = f" ({word('mark.waits')})" if one in lost else ""
        typer.echo(f"{say_marking(one)}{waits}")
    if not rows:
        typer.echo(word("mark.none"))


def add_to(app: typer.Typer) -> None:
    """Register the three under ``keysense piece``."""
    for command in (mark, unmark, marks):
        app.command(cls=PlainCommand)(command)
