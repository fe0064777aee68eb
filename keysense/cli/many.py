"""``keysense spots``, ``sight`` and ``survey``: what many takes tell together, and a piano made known."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from keysense.cli.glue import StudioDir, is_take_file, open_studio, print_json, progress, read_take_file
from keysense.errors import StudioError

if TYPE_CHECKING:
    from keysense.notes import Take
    from keysense.studio import Studio

__all__ = ["sight", "spots", "survey"]

Json = Annotated[bool, typer.Option("--json", help="Everything, for another program to read.")]


def spots(
    piece: Annotated[str, typer.Argument(metavar="PIECE", help="The piece.")],
    pupil: Annotated[
        str, typer.Option("--pupil", metavar="PUPIL", help="Whose takes; without it, the piece over all pupils.")
    ] = "",
    child: Annotated[bool, typer.Option("--child", help="Only the one sentence a child may hear.")] = False,
    json: Json = False,
    studio: StudioDir = None,
) -> None:
    """Show where the tune is caught again and again.

    A place is a spot from three of up to five takes on, four of six to twelve. Over all pupils only counts are told.
    """
    from dataclasses import asdict

    from keysense.practice import read_practice
    from keysense.studio.many import spots_of, tricky_spots
    from keysense.words import translated, word
    from keysense.words.catalogue import counted
    from keysense.words.many import say_piece_spot, say_spot, say_spots_to_child

    if child and not pupil:
        raise StudioError("say whose sentence it is: --pupil")
    with open_studio(create=False) as opened, progress("listening to takes not yet looked at"):
        what = opened.find_piece(piece)
        who = opened.find_pupil(pupil) if pupil else None
        found = None if who is None else spots_of(opened, who.id, what.id)
        tricky = () if child else tricky_spots(opened, what.id)
        end = opened.target_of(what.id).target.end_quarter
        newest = int(read_practice(opened.folder.own_practice).value("spot_gone"))
    if json:
        own = None if found is None else asdict(found)
        print_json({"schema": 1, "piece": what.title, "pupil": who.nickname if who else None, "own": own,
                    "over_all_pupils": [asdict(spot) for spot in tricky]})  # fmt: skip
        return
    if found is not None and child:
        typer.echo(say_spots_to_child(found, end))
        return
    typer.echo(what.title if who is None else f"{who.nickname}, {what.title}")
    if found is not None:
        typer.echo(word("sight.why", why=translated(found.why)) if found.why else counted("spots.from", found.takes))
        lines = [say_spot(spot, newest=newest) for spot in found.spots] or [word("spots.none")]
        for line in [] if found.why else lines:
            typer.echo(line)
    for line in [say_piece_spot(spot) for spot in tricky] or [word("spots.piece.none")]:
        typer.echo(line)


def sight(
    pupil: Annotated[str, typer.Argument(metavar="PUPIL", help="The nickname.")],
    child: Annotated[bool, typer.Option("--child", help="Only the one sentence a child may hear.")] = False,
    json: Json = False,
    studio: StudioDir = None,
) -> None:
    """Show before which notes the tune waited at first sight.

    All takes named 'first sight' are looked at together, each piece once. What was heard is told, never why.
    """
    from keysense.studio.many import sight_of
    from keysense.words.many import say_sight, say_sight_to_child

    with open_studio(create=False) as opened, progress("listening to the cards again"):
        who = opened.find_pupil(pupil)
        reading, pieces = sight_of(opened, who.id)
    if json:
        classes = [
            {"name": one.name, "word": one.word, "p": one.p, "finding": one.finding.to_json()}
            for one in reading.classes
        ]
        print_json({"schema": 1, "pupil": who.nickname, "pieces": [piece.title for piece in pieces],
                    "cards": reading.cards, "n": reading.n, "why_missing": reading.why or None,
                    "classes": classes})  # fmt: skip
        return
    if child:
        typer.echo(say_sight_to_child(reading))
        return
    typer.echo(", ".join([who.nickname, *(piece.title for piece in pieces)]))
    for line in say_sight(reading):
        typer.echo(line)


def survey(
    takes: Annotated[
        list[str] | None,
        typer.Argument(metavar="TAKE", help="The playing, or its parts in order: 'last', an id, or a .mid file."),
    ] = None,
    piano: Annotated[
        str, typer.Option("--piano", metavar="NAME", help="The piano's name, if it is not the one it plays under.")
    ] = "",
    touch_setting: Annotated[
        str, typer.Option("--touch-setting", metavar="WORDS", help="How its touch is set, such as medium.")
    ] = "",
    json: Json = False,
    studio: StudioDir = None,
) -> None:
    """Make a piano known: how soft and how loud it goes, and how finely.

    Without a playing it says what to play; it takes two minutes, once a piano.
    """
    from keysense.studio.surveying import keep
    from keysense.words import word
    from keysense.words.many import how_to_survey, say_moved, say_survey

    if not takes:
        for line in how_to_survey():
            typer.echo(line)
        return
    with open_studio() as opened:
        played, name, waiting = _played(opened, takes)
        known = keep(opened, piano.strip() or name, played, touch_setting=touch_setting)
        for take_id in waiting:
            opened.drop_take(take_id)
    heard, name = known.stored.survey, known.stored.instrument
    if json:
        print_json(
            {"schema": 1, "piano": name, "touch_setting": touch_setting, **heard.to_json(), "moved": known.moved}
        )
        return
    typer.echo(word("survey.known" if known.is_first else "survey.again", piano=name or word("survey.this")))
    for line in [*say_survey(heard), *say_moved(known.moved)]:
        typer.echo(line)


def _played(studio: Studio, refs: list[str]) -> tuple[Take, str, list[str]]:
    """The takes as one, the piano they were played on, and which of them wait in the studio."""
    from keysense.studio.surveying import put_together

    parts: list[Take] = []
    waiting, name = [], ""
    for ref in refs:
        if is_take_file(ref):
            parts.append(read_take_file(ref))
        else:
            stored = studio.take(ref)
            parts.append(studio.take_notes(stored.id))
            waiting += [stored.id] if stored.state == "waiting" else []
        name = name or parts[-1].meta.instrument
    return put_together(parts), name, waiting
