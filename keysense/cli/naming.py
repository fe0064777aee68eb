"""``keysense name`` and ``keysense drop``: what a take is, or that it is not to be kept."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Annotated

import typer

from keysense.cli.glue import StudioDir, echo, open_studio, progress
from keysense.errors import StudioError, UnknownName

if TYPE_CHECKING:
    from collections.abc import Callable

    from keysense.studio import Proposal, StoredTake, Studio

__all__ = ["drop", "name", "told"]


def name(
    words: Annotated[
        list[str],
        typer.Argument(
            metavar="[TAKE] WORDS...",
            help="Who played what, and how: pip cat sleepy. In front of it the take, if it is not the last one.",
        ),
    ],
    yes: Annotated[bool, typer.Option("--yes", "-y", help="Take it as it was understood, without asking.")] = False,
    ahead: Annotated[bool, typer.Option("--next", help="Say it of what comes next, before it is played.")] = False,
    studio: StudioDir = None,
) -> None:
    """Name a take in your own words: keysense name pip cat sleepy.

    Spelling does not matter, nor does the order. What was said stays for the next takes, until you say otherwise. Where
    two names fit, you are asked; nothing is guessed between two children or two pieces.
    """
    from keysense.studio.looking import heard

    with open_studio(create=False) as opened:
        if ahead:
            _apply(lambda accept: opened.name_next(" ".join(words), accept=accept), yes)
            echo(f"What comes next: {_next(opened)}.")
            return
        take, line = _take_and_line(opened, words)
        _apply(lambda accept: opened.name_line(take.id, line, accept=accept), yes)
        with progress("listening to it again"):
            heard(opened, take.id)
        echo(f"Take {take.id[:8]}: {told(opened, opened.take(take.id))}.")
        _ask_back(opened, take.id)


def drop(
    take: Annotated[str, typer.Argument(metavar="TAKE", help="The take; the last one if you say nothing.")] = "",
    undo: Annotated[bool, typer.Option("--undo", help="Take it back: keep what was dropped.")] = False,
    studio: StudioDir = None,
) -> None:
    """Do not keep a take. It is wiped within 24 hours; until then --undo brings it back."""
    with open_studio(create=False) as opened:
        if undo:
            back = opened.undo_drop(None if take in ("", "last") else take)  # the last that was dropped
            echo(f"Take {back.id[:8]} is back: {told(opened, back)}.")
        else:
            gone = opened.drop_take(take or "last")
            echo(f"Take {gone.id[:8]} is not kept. 'keysense drop --undo' brings it back within 24 hours.")


def told(studio: Studio, take: StoredTake) -> str:
    """What a take is, in one phrase."""
    parts = [
        studio.pupil(take.pupil_id).nickname if take.pupil_id else "",
        studio.piece(take.piece_id).title if take.piece_id else "",
        take.character,
        take.manner,
        "my own playing" if take.is_model else "",
    ]
    name = ", ".join(part for part in parts if part)
    if not name:
        return "no name yet"
    return f"perhaps {name}" if take.carried else name


def _apply(name_it: Callable[[bool], Proposal], yes: bool) -> None:
    """Apply a line, asking where somebody is there to answer; raises StudioError with the question otherwise."""
    proposal = name_it(yes)
    if not proposal.applied and not proposal.doubts and _may_ask():
        typer.confirm(proposal.question, default=True, abort=True, err=True)
        proposal = name_it(True)
    if not proposal.applied:
        raise StudioError(proposal.question)


def _ask_back(studio: Studio, take_id: str) -> None:
    """What it sounds like, where that is not what it was called; the pages ask the same."""
    from keysense.dashboards._doubts import question_about

    question = question_about(studio, take_id)
    if question is None:
        return
    how = "keysense split makes two of it" if question["kind"] == "cut" else "if so, give it its name anew"
    echo(f"{question['said']} ({how})")


def _next(studio: Studio) -> str:
    now = studio.context
    parts = [
        studio.pupil(now.pupil_id).nickname if now.pupil_id else "",
        studio.piece(now.piece_id).title if now.piece_id else "",
        now.character,
        now.manner,
    ]
    return ", ".join(part for part in parts if part) or "nothing is said of it"


def _take_and_line(studio: Studio, words: list[str]) -> tuple[StoredTake, str]:
    """The take that the first word names, or the last one; and the words left."""
    try:
        return studio.take(words[0]), " ".join(words[1:])
    except UnknownName:
        return studio.take("last"), " ".join(words)


def _may_ask() -> bool:
    return sys.stdin.isatty() and sys.stderr.isatty()
