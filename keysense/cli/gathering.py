"""``keysense gather``: what was kept in another studio folder, brought into this one."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from keysense.cli.glue import StudioDir, open_studio, progress

__all__ = ["gather"]


def gather(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="The other studio's folder.")],
    same: Annotated[
        list[str] | None,
        typer.Option("--same", metavar="PUPIL", help="A child who stands in both registers; may be said again."),
    ] = None,
    studio: StudioDir = None,
) -> None:
    """Bring what was kept in another studio folder into this one, such as after a lesson at a pupil's home.

    Nothing is brought twice and nothing that is here is changed; the other folder stays as it is. A child who was
    erased here is erased there by 'keysense pupil erase' with --studio.
    """
    from keysense.studio.gathering import gather as gather_from
    from keysense.words import counted

    with open_studio() as opened, progress("reading the other studio"):
        found = gather_from(opened, folder, same=same or ())
    for line in (counted("gather.takes", found.takes), counted("gather.here", found.here)):
        typer.echo(line)
