"""``keysense weeks``: one finding of a pupil, over the weeks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from keysense.cli.glue import StudioDir, open_studio, print_json, progress, table
from keysense.errors import StudioError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from keysense.comparing.weeks import WeekLine, WeekPoint
    from keysense.studio import Piece, Studio

__all__ = ["weeks"]

# Where nothing else is said, evenness over the weeks is looked at because evenness was wished.
_WISHES = {"evenness_timing": "even", "evenness_timing_robust": "even", "evenness_loudness": "even"}


def weeks(
    pupil: Annotated[str, typer.Argument(metavar="PUPIL", help="The nickname.")],
    piece: Annotated[
        str, typer.Option("--piece", metavar="PIECE", help="The piece; the standing warm-up if you say nothing.")
    ] = "",
    finding: Annotated[
        str, typer.Option("--finding", metavar="NAME", help="What to follow over the weeks, such as tempo.")
    ] = "evenness_timing",
    hand: Annotated[str, typer.Option("--hand", metavar="HAND", help="R or L, for a finding of one hand.")] = "",
    wish: Annotated[
        str, typer.Option("--wish", metavar="WORD", help="What was wished for, such as even, softer or joined.")
    ] = "",
    json: Annotated[bool, typer.Option("--json", help="The weeks, for another program to read.")] = False,
    studio: StudioDir = None,
) -> None:
    """Show what has changed from week to week, as far as one can tell.

    A word about the way it goes comes only from five weeks on; a term, not a week, is the measure of an honest change.
    """
    from dataclasses import asdict

    from keysense.comparing.weeks import weeks as week_line
    from keysense.practice import read_practice
    from keysense.studio.looking import catch_up

    _known(finding, wish)
    with open_studio(create=False) as opened:
        who = opened.find_pupil(pupil)
        what = opened.find_piece(piece) if piece else _usual_piece(opened, who.id)
        side = _hand(hand)
        with progress("listening to takes not yet looked at"):
            catch_up(opened, pupil_id=who.id, piece_id=what.id)
        points = _points(opened, who.id, what, finding, side)
        practice = read_practice(opened.folder.own_practice)
    asked = wish or _WISHES.get(finding)
    lines = {one: week_line(kept, asked, practice=practice) for one, kept in points.items()}
    if json:
        about = {"pupil": who.nickname, "piece": what.title, "finding": finding}
        told = [{**about, "hand": one or None, **asdict(line)} for one, line in lines.items()]
        print_json(told[0] if len(told) == 1 else told)
        return
    for one, line in lines.items():
        typer.echo(_head(who.nickname, what.title, finding, one))
        for row in _rows(line, finding):
            typer.echo(row)


def _head(pupil: str, piece: str, finding: str, hand: str) -> str:
    from keysense.words import title_of, word

    about = {"pupil": pupil, "piece": piece, "finding": title_of(finding)}
    return word("weeks.of.hand", **about, hand=word(f"place.hand.{hand}")) if hand else word("weeks.of", **about)


def _known(finding: str, wish: str) -> None:
    """StudioError, with what there is, on a finding that no take has and on a wish that does not belong to it."""
    from keysense.comparing.characters import wishes_for
    from keysense.findings.registry import REGISTER

    if finding not in REGISTER:
        raise StudioError(f"--finding {finding}: no finding goes by that name; there are {', '.join(REGISTER)}")
    if wish and wish not in wishes_for(finding):
        raise StudioError(f"--wish {wish}: of {finding} it can be wished {', '.join(wishes_for(finding))}")


def _points(studio: Studio, pupil_id: str, piece: Piece, finding: str, hand: str) -> dict[str, list[WeekPoint]]:
    """What is kept of the finding, by hand: the hand asked for, the warm-up's own, else every hand that has some."""
    if hand:
        return {hand: studio.weeks_of(pupil_id, piece.id, finding, hand)}
    sides = [piece.warmup_hand] if piece.warmup_hand else []
    for few in (sides, [""], ["R", "L"]):
        points = {side: studio.weeks_of(pupil_id, piece.id, finding, side or None) for side in few}
        if any(points.values()):
            return {side: kept for side, kept in points.items() if kept}
    return {"": []}


def _rows(line: WeekLine, finding: str) -> Iterator[str]:
    from keysense.findings.registry import REGISTER
    from keysense.words import translated, word
    from keysense.words.figures import WEEKS, figures, start_large
    from keysense.words.many import say_week_error

    if not line.weeks:
        yield word("weeks.nothing")
        return
    unit = REGISTER[finding].unit
    known = [value for week in line.weeks for value in (week.value, week.low, week.high) if value is not None]
    said = dict(zip(known, figures(known, unit, WEEKS), strict=True))
    rows = [
        (
            word("weeks.row", year=week.year, week=f"{week.week}"),
            said[week.value],
            ""
            if week.low is None or week.high is None
            else word("weeks.between", low=said[week.low], high=said[week.high]),
            f"{week.n}",
        )
        for week in line.weeks
    ]
    yield from table(rows, tuple(word(f"weeks.column.{name}") for name in ("week", "middle", "between", "takes")))
    if line.word:
        yield word("weeks.over", word=word(f"weeks.word.{line.word}"))
    if line.why:
        yield start_large(translated(line.why)) + "."
    yield from say_week_error(line, unit)


def _hand(text: str) -> str:
    side = {"": "", "r": "R", "right": "R", "l": "L", "left": "L"}.get(text.strip().lower())
    if side is None:
        raise StudioError(f"--hand {text}: say R or L")
    return side


def _usual_piece(studio: Studio, pupil_id: str) -> Piece:
    """The standing warm-up, where there is one and no more."""
    warm_ups = studio.warmups()
    if len(warm_ups) == 1:
        return warm_ups[0]
    if not warm_ups:
        raise StudioError("there is no standing warm-up yet: say which piece with --piece")
    raise StudioError(f"which warm-up: {', '.join(piece.title for piece in warm_ups)}? Say it with --piece")
