"""``keysense piece``: the music, from a score, from a file, or played in by the teacher."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from keysense.cli.glue import StudioDir, echo, is_take_file, open_studio, progress, read_take_file, table
from keysense.cli.marking import add_to
from keysense.cli.plain import PlainCommand
from keysense.errors import StudioError

if TYPE_CHECKING:
    from keysense.studio import Piece, StoredTarget, Studio
    from keysense.targets.target import Target

__all__ = ["app"]

app = typer.Typer(help="The pieces you teach, and the music they are followed by.", rich_markup_mode=None)

_HANDS = {"right": "R", "r": "R", "left": "L", "l": "L", "both": ""}

WarmUp = Annotated[
    str | None,
    typer.Option("--warm-up", metavar="HAND", help="It is a standing warm-up of the right or left hand, or both."),
]


@app.command(cls=PlainCommand)
def add(
    file: Annotated[str, typer.Argument(metavar="FILE", help="A score (.musicxml or .mxl) or a .mid file.")],
    title: Annotated[
        str, typer.Option("--title", metavar="TITLE", help="What you call it; else the title in the file.")
    ] = "",
    part: Annotated[
        str | None, typer.Option("--part", metavar="NAME", help="The pupil's part, where the score has several.")
    ] = None,
    beside: Annotated[
        str | None,
        typer.Option("--beside", metavar="NAME", help="The part a second player plays on the same keyboard."),
    ] = None,
    warm_up: WarmUp = None,
    studio: StudioDir = None,
) -> None:
    """Put a piece on the shelf from a score or a .mid file.

    The same title again gives the piece a new version of its music; what was heard against the old one stays.
    Of a piece for two players on one keyboard, --part is the pupil's and --beside the other player's: the pupil alone
    is judged.
    """
    from keysense.targets import read_target

    with progress("reading the score"):
        target = read_target(Path(file), part=part, beside=beside)
    _put(title or target.source.title or Path(file).stem, target, warm_up)


@app.command("play-in", cls=PlainCommand)
def play_in(
    title: Annotated[str, typer.Argument(metavar="TITLE", help="What you call the piece.")],
    takes: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[TAKE...]", help="Your own playing of it, once or more often; the last take by itself."
        ),
    ] = None,
    tempo: Annotated[
        float | None, typer.Option("--tempo", metavar="N", help="Quarter notes a minute, if you know it.")
    ] = None,
    quarters_per_bar: Annotated[
        int, typer.Option("--bar", metavar="N", min=1, max=24, help="Quarter notes in one bar.")
    ] = 4,
    warm_up: WarmUp = None,
    studio: StudioDir = None,
) -> None:
    """Play the tune in yourself: your own takes become what the pupils' are followed by. No score is needed."""
    from keysense.cli.asking import asked
    from keysense.following import teach

    refs = takes or ["last"]
    with open_studio() as opened:
        playing = [read_take_file(ref) if is_take_file(ref) else opened.take_notes(opened.take(ref).id) for ref in refs]
        kept = [opened.take(ref).id for ref in refs if not is_take_file(ref)]
    with progress("finding the pulse"):
        taught = teach(playing, tempo_qpm=tempo, quarters_per_bar=quarters_per_bar, title=title)
    stored = _put(title, taught.target, warm_up)
    for line in asked(taught.questions, refs):
        echo(line)
    if kept:
        with open_studio() as opened:
            for take_id in kept:
                opened.mark_model(take_id, stored.piece_id)


@app.command(cls=PlainCommand)
def model(
    title: Annotated[str, typer.Argument(metavar="TITLE", help="The piece, which has its music already.")],
    take: Annotated[
        str, typer.Argument(metavar="[TAKE]", help="Your own playing of it; the last take by itself.")
    ] = "last",
    studio: StudioDir = None,
) -> None:
    """Keep a take as your own playing of a piece, for pupils' takes to be set beside ('keysense model')."""
    from keysense.words import word

    with open_studio(create=False) as opened:
        piece = opened.find_piece(title)
        opened.mark_model(opened.take(take).id, piece.id)
    echo(word("model.kept", piece=piece.title))


@app.command("list", cls=PlainCommand)
def list_pieces(studio: StudioDir = None) -> None:
    """Show the pieces on the shelf."""
    with open_studio(create=False) as opened:
        music = {stored.piece_id: stored for stored in opened.targets()}
        rows = [_row(piece, music.get(piece.id)) for piece in opened.pieces()]
    if not rows:
        echo("Nothing yet: keysense piece add FILE, or keysense piece play-in TITLE")
        return
    for line in table(rows, ("piece", "music", "version", "notes", "")):
        echo(line)


def _row(piece: Piece, music: StoredTarget | None) -> tuple[str, ...]:
    hand = {"R": ", right hand", "L": ", left hand"}.get(piece.warmup_hand, "")
    warm_up = f"warm-up{hand}" if piece.is_warmup else ""
    if music is None:
        return (piece.title, "none yet", "", "", warm_up)
    kind = {"score": "score", "midi": ".mid file", "model": "played in"}.get(music.kind, music.kind)
    return (piece.title, kind, str(music.version), str(len(music.target.notes)), warm_up)


def _put(title: str, target: Target, warm_up: str | None) -> StoredTarget:
    hand = None if warm_up is None else _HANDS.get(warm_up.strip().lower())
    if warm_up is not None and hand is None:
        raise StudioError(f"--warm-up {warm_up}: say right, left or both")
    from keysense.words import counted, word

    with open_studio() as opened:
        piece = _piece_called(opened, title)
        stored = opened.add_target(piece.id, _of_hand(target, hand) if hand else target)
        if hand is not None:
            opened.set_warmup(piece.id, hand=hand)
        parts = [counted("piece.bars", len(target.bars))] if len(target.bars) else []
        parts.append(counted("n.notes", len(target.notes)))
        key = "piece.put.again" if stored.version > 1 else "piece.put"
        typer.echo(word(key, piece=piece.title, said=", ".join(parts), version=stored.version))
    return stored


def _of_hand(target: Target, hand: str) -> Target:
    """Music that tells no hands, all in the hand that the warm-up is for."""
    if target.hands:
        return target
    notes = target.notes.copy()
    notes["hand"] = hand
    return replace(target, notes=notes)


def _piece_called(studio: Studio, title: str) -> Piece:
    """The piece of exactly this title, new if there is none: a new piece is never guessed to be an old one."""
    from keysense.studio.matching import words_of

    for piece in studio.pieces():
        if words_of(piece.title) == words_of(title):
            return piece
    return studio.add_piece(title)


add_to(app)
