"""``keysense model``, ``overnight`` and ``manners``: takes beside each other that the studio finds by itself."""

from __future__ import annotations

from typing import Annotated

import typer

from keysense.cli.glue import StudioDir, open_studio, print_json, progress

__all__ = ["manners", "model", "overnight"]

Json = Annotated[bool, typer.Option("--json", help="Everything, for another program to read.")]
Child = Annotated[bool, typer.Option("--child", help="Only the one sentence a child may hear.")]
PupilArgument = Annotated[str, typer.Argument(metavar="PUPIL", help="The nickname.")]


def model(
    take: Annotated[str, typer.Argument(metavar="TAKE", help="'last', or the beginning of a take's id.")],
    child: Child = False,
    json: Json = False,
    studio: StudioDir = None,
) -> None:
    """Set a take beside your own playing of its piece, phrase by phrase.

    Does it rise and fall the same way, in loudness and in time? Only the shape is looked at, each scaled to itself;
    how far the two are apart is never worked out. A shape of its own may be the better one.
    """
    from keysense.studio.between import beside_model
    from keysense.words import word
    from keysense.words.between import say_model_to_child, say_shapes

    with open_studio(create=False) as opened, progress("listening to both again"):
        both = beside_model(opened, take)
        title = opened.piece(both.model.piece_id or "").title
    if json:
        print_json({"schema": 1, "take": both.take.id, "model": both.model.id, "piece": title,
                    "phrases": [one.to_json() for one in both.phrases]})  # fmt: skip
        return
    if child:
        typer.echo(say_model_to_child(both.phrases))
        return
    for line in (title, *say_shapes(both.phrases), word("model.caution")):
        typer.echo(line)


def overnight(
    pupil: PupilArgument,
    piece: Annotated[str, typer.Option("--piece", metavar="PIECE", help="One piece only.")] = "",
    child: Child = False,
    json: Json = False,
    studio: StudioDir = None,
) -> None:
    """Show what stayed and what grew from one lesson to the next.

    The first playing of the newest day is set beside the last of the day before, in what was wished of it.
    """
    from keysense.studio.between import overnights
    from keysense.words import translated, word
    from keysense.words.between import say_overnight, say_overnight_to_child

    with open_studio(create=False) as opened, progress("listening to the takes again"):
        who = opened.find_pupil(pupil)
        what = opened.find_piece(piece).id if piece else None
        pairs = overnights(opened, who.id, what)
    if json:
        print_json({"schema": 1, "pupil": who.nickname, "pieces": [
            {"piece": pair.piece.title, "last": pair.last.id if pair.last else None, "first": pair.first.id,
             "found": [one.to_json() for one in pair.found], "why_missing": pair.why or None}
            for pair in pairs
        ]})  # fmt: skip
        return
    if child:
        typer.echo(say_overnight_to_child([(pair.piece.title, pair.found) for pair in pairs]))
        return
    if not pairs:
        typer.echo(word("overnight.none"))
    for pair in pairs:
        typer.echo(f"{who.nickname}, {pair.piece.title}")
        for line in [word("overnight.why", why=translated(pair.why))] if pair.why else say_overnight(pair.found):
            typer.echo(line)


def manners(pupil: PupilArgument, child: Child = False, json: Json = False, studio: StudioDir = None) -> None:
    """Set pieces learnt by ear beside pieces learnt from the page.

    Takes are named 'by ear' or 'from the page'. Each piece counts once, and before three of each nothing is told.
    """
    from keysense.studio.between import manners_of
    from keysense.words import word
    from keysense.words.between import say_manners

    with open_studio(create=False) as opened, progress("listening to takes not yet looked at"):
        who = opened.find_pupil(pupil)
        found, pieces = manners_of(opened, who.id)
    if json:
        print_json({"schema": 1, "pupil": who.nickname, "pieces": {"by_ear": pieces[0], "from_the_page": pieces[1]},
                    "difference_is": "from the page minus by ear",
                    "findings": [{"word": one.word, **one.difference.to_json()} for one in found]})  # fmt: skip
        return
    if child:
        typer.echo(word("child.manners"))
        return
    typer.echo(who.nickname)
    for line in say_manners(found, pieces):
        typer.echo(line)
