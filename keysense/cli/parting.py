"""``keysense split`` and ``keysense join``: two takes of one, one of two, and back again."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from keysense.cli.glue import StudioDir, echo, open_studio, progress
from keysense.errors import StudioError

if TYPE_CHECKING:
    from collections.abc import Iterable

    from keysense.studio import StoredTake, Studio

__all__ = ["join", "split"]


def split(
    take: Annotated[str, typer.Argument(metavar="TAKE", help="The take; the last one if you say nothing.")] = "last",
    at: Annotated[
        float | None,
        typer.Option("--at", metavar="SECONDS", min=0.0, help="Split before the first note at or after this time."),
    ] = None,
    undo: Annotated[bool, typer.Option("--undo", help="Put it back as it was before it was split.")] = False,
    studio: StudioDir = None,
) -> None:
    """Make two takes of one: keysense split last --at 12.

    Without --at it is split between the two tunes that were heard in it, else at its longest silence. Nothing that was
    played is lost: --undo, with one of the two, puts it back.
    """
    with open_studio(create=False) as opened:
        if undo:
            _back(opened, take)
            return
        stored = opened.take(take)
        _look_again(opened, opened.split_take(stored.id, _place(opened, stored, at)))


def join(
    take: Annotated[str, typer.Argument(metavar="TAKE", help="The take; the last one if you say nothing.")] = "last",
    other: Annotated[
        str, typer.Argument(metavar="OTHER", help="The one to join it with; the one before it if you say nothing.")
    ] = "",
    undo: Annotated[bool, typer.Option("--undo", help="Put them back as they were before they were joined.")] = False,
    studio: StudioDir = None,
) -> None:
    """Make one take of two that were played one after the other.

    Nothing that was played is lost: --undo makes two of them again.
    """
    with open_studio(create=False) as opened:
        if undo:
            _back(opened, take)
            return
        stored = opened.take(take)
        before = opened.take(other) if other else opened.neighbour_before(stored)
        if before is None:
            raise StudioError(
                f"before take {stored.id[:8]} there is none that it could be joined with: name both takes"
            )
        _look_again(opened, [opened.join_takes(before.id, stored.id)])


def _place(studio: Studio, take: StoredTake, at_s: float | None) -> int:
    """The first note of the second take."""
    from keysense.studio.parting import silences

    notes = studio.take_notes(take.id)
    if at_s is not None:
        return int((notes.notes["onset_s"] < at_s).sum())
    asked = next((doubt for doubt in studio.doubts(take.id) if doubt.kind == "cut"), None)
    if asked is not None:
        return int(asked.body["note"])
    found = silences(notes, 1)
    if not found:
        raise StudioError(f"there is no silence in take {take.id[:8]}: say where with --at SECONDS")
    return found[0][0]


def _look_again(studio: Studio, takes: Iterable[StoredTake]) -> None:
    from keysense.cli.naming import told
    from keysense.studio.looking import heard
    from keysense.words import counted

    for take in takes:
        with progress("listening to it again"):
            heard(studio, take.id)
        now = studio.take(take.id)
        echo(f"Take {now.id[:8]}, {counted('n.notes', now.n)}: {told(studio, now)}.")


def _back(studio: Studio, ref: str) -> None:
    from keysense.cli.naming import told
    from keysense.words import counted

    for take in studio.undo_cut(ref):
        echo(f"Take {take.id[:8]} is back, {counted('n.notes', take.n)}: {told(studio, take)}.")
