"""``keysense weeks``: one finding of a pupil, over the weeks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from keysense.cli.glue import StudioDir, open_studio, print_json, table
from keysense.errors import StudioError

if TYPE_CHECKING:
    from keysense.comparing.weeks import WeekLine
    from keysense.studio import Piece, Studio

__all__ = ["weeks"]


def weeks(
    pupil: Annotated[str, typer.Argument(metavar="PUPIL", help="The nickname.")],
    piece: Annotated[
        str, typer.Option("--piece", metavar="PIECE", help="The piece; the standing warm-up if you say nothing.")
    ] = "",
    finding: Annotated[
        str, typer.Option("--finding", metavar="NAME", help="What to follow over the weeks, such as tempo.")
    ] = "evenness_timing",
    hand: Annotated[str, typer.Option("--hand", metavar="HAND", help="R or L, for a finding of one hand.")] = "",
    json: Annotated[bool, typer.Option("--json", help="The weeks, for another program to read.")] = False,
    studio: StudioDir = None,
) -> None:
    """Show what has changed from week to week, as far as one can tell.

    A word about the way it goes comes only from five weeks on; a term, not a week, is the measure of an honest change.
    """
    raise NotImplementedError(finding)
