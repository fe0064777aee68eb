"""``keysense pupil``: the register, and what was agreed."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from keysense.cli.glue import StudioDir, echo, open_studio, table
from keysense.cli.plain import PlainCommand
from keysense.errors import StudioError

__all__ = ["app"]

app = typer.Typer(
    help="Your pupils, by nickname, and what their guardians agreed to.", no_args_is_help=False, rich_markup_mode=None
)

Nickname = Annotated[str, typer.Argument(metavar="NICKNAME", help="What you call the child here; no more is needed.")]
By = Annotated[str, typer.Option("--agreed-by", metavar="WHO", help="Who agreed: a parent or guardian.")]
On = Annotated[str, typer.Option("--on", metavar="DATE", help="The day they agreed, such as 2026-09-01.")]
Until = Annotated[str | None, typer.Option("--until", metavar="DATE", help="The last day it holds, if it ends.")]
Purpose = Annotated[str, typer.Option("--purpose", metavar="WORD", help="What for; 'teach' lets takes be kept.")]


@app.command(cls=PlainCommand)
def add(
    nickname: Nickname, agreed_by: By, on: On, until: Until = None, purpose: Purpose = "teach", studio: StudioDir = None
) -> None:
    """Write a pupil into the register, with the guardian's agreement.

    A nickname is enough: no surname, no birth date. Without an agreement you may look at a take, but it is not kept.
    """
    with open_studio() as opened:
        pupil = opened.add_pupil(nickname, agreed_by=agreed_by, on=on, until=until, purpose=purpose)
        echo(f"{pupil.nickname} is in the register; {agreed_by} agreed on {on}.")


@app.command(cls=PlainCommand)
def agree(
    nickname: Nickname, agreed_by: By, on: On, until: Until = None, purpose: Purpose = "teach", studio: StudioDir = None
) -> None:
    """Write down a new or renewed agreement of a pupil."""
    with open_studio(create=False) as opened:
        pupil = opened.agree(opened.find_pupil(nickname).id, agreed_by=agreed_by, on=on, until=until, purpose=purpose)
        echo(f"{pupil.nickname}: {agreed_by} agreed on {on}.")


@app.command(cls=PlainCommand)
def withdraw(nickname: Nickname, studio: StudioDir = None) -> None:
    """Write down that the agreement was taken back: nothing more is kept, and what was kept is hidden at once."""
    with open_studio(create=False) as opened:
        pupil = opened.withdraw(opened.find_pupil(nickname).id)
        echo(f"{pupil.nickname}: nothing is kept or shown any more. 'keysense pupil erase' wipes what there is.")


@app.command(cls=PlainCommand)
def erase(
    nickname: Nickname,
    yes: Annotated[bool, typer.Option("--yes", "-y", help="Do not ask again.")] = False,
    studio: StudioDir = None,
) -> None:
    """Erase a pupil with every take and everything heard. This cannot be taken back."""
    from keysense.words import counted

    with open_studio(create=False) as opened:
        pupil = opened.find_pupil(nickname)
        if not yes:
            typer.confirm(f"Erase {pupil.nickname} and everything kept of this child?", abort=True, err=True)
        n = opened.erase_pupil(pupil.id)
        echo(f"Erased, with {counted('n.takes', n)}. Copies of the studio that you made elsewhere still hold it.")


@app.command(cls=PlainCommand)
def copy(
    nickname: Nickname,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The file to write, ending .zip.")],
    studio: StudioDir = None,
) -> None:
    """Write a copy of all that is kept of a pupil, to be given to the guardian.

    Every take as a MIDI file, and all the rest as text; no other child is in it.
    """
    from keysense.files import write_atomically
    from keysense.studio.copying import copy_of
    from keysense.words import counted

    if file.suffix.lower() != ".zip":
        raise StudioError(f"{file} must end in .zip: a copy is one file that any computer unpacks")
    with open_studio(create=False) as opened:
        pupil = opened.find_pupil(nickname)
        write_atomically(file, copy_of(opened, pupil.id), error=StudioError)
        n = len(opened.takes(pupil=pupil.id))
    echo(
        f"{pupil.nickname}: all that is kept, with {counted('n.takes', n)}, is in {file}. Give it to the guardian only."
    )


@app.command("name", cls=PlainCommand)
def rename(
    nickname: Nickname,
    new: Annotated[str, typer.Argument(metavar="NEW", help="What you call the child from now on.")],
    studio: StudioDir = None,
) -> None:
    """Mend a nickname; all that is kept stays where it is."""
    with open_studio(create=False) as opened:
        before = opened.find_pupil(nickname)
        after = opened.call_pupil(before.id, new)
        echo(f"{before.nickname} is called {after.nickname} now.")


@app.command("list", cls=PlainCommand)
def list_pupils(studio: StudioDir = None) -> None:
    """Show the register, by nickname."""
    with open_studio(create=False) as opened:
        rows = [
            (
                pupil.nickname,
                "takes are kept" if pupil.may_keep else "nothing is kept",
                f"{pupil.agreed_by}, {pupil.agreed_on}" if pupil.may_keep else "no agreement for today",
            )
            for pupil in opened.pupils()
        ]
    if not rows:
        echo("Nobody yet: keysense pupil add NICKNAME --agreed-by WHO --on DATE")
        return
    for line in table(rows, ("pupil", "keeping", "agreed by, on")):
        echo(line)
