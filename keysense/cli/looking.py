"""``keysense look`` and ``keysense beside``: what was heard in one take, and in two."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from keysense.cli.glue import (
    StudioDir,
    is_take_file,
    is_target_file,
    open_studio,
    print_json,
    progress,
    read_take_file,
)
from keysense.errors import StudioError

if TYPE_CHECKING:
    from keysense.comparing import Comparison
    from keysense.comparing.characters import Character
    from keysense.findings import Reading
    from keysense.practice import Practice
    from keysense.targets.target import Target

__all__ = ["beside", "look"]

TakeArgument = Annotated[
    str,
    typer.Argument(
        metavar="TAKE",
        help="The playing: 'last', the beginning of a take's id (four letters or more), or a file ending .mid.",
    ),
]
Tune = Annotated[
    str | None,
    typer.Option(
        "--target", metavar="TUNE", help="The music: a piece's name, or a score (.musicxml, .mxl) or .mid file."
    ),
]
Json = Annotated[bool, typer.Option("--json", help="Everything, for another program to read.")]


def look(
    take: TakeArgument,
    target: Tune = None,
    character: Annotated[
        str | None, typer.Option("--character", metavar="WORD", help="The character asked for, such as sleepy.")
    ] = None,
    all_findings: Annotated[
        bool, typer.Option("--all", help="Say everything that was heard, not only the first.")
    ] = False,
    json: Json = False,
    studio: StudioDir = None,
) -> None:
    """Say what was heard in one take.

    A take of your studio is looked at against its own piece. A file can be looked at against any tune; it is not kept.
    """
    with progress("listening to the take again"):
        reading, take_id, target_id = _reading(take, target, character)
    if json:
        print_json(reading.to_json(take_id=take_id, target_id=target_id))
        return
    for line in _said(reading, everything=all_findings):
        typer.echo(line)


def beside(
    a: Annotated[str, typer.Argument(metavar="TAKE", help="The first playing.")],
    b: Annotated[str, typer.Argument(metavar="TAKE", help="The second playing of the same tune.")],
    target: Tune = None,
    wants_a: Annotated[
        str | None,
        typer.Option("--wants-a", metavar="CHARACTER", help="What the first was asked to be, such as sleepy."),
    ] = None,
    wants_b: Annotated[
        str | None,
        typer.Option("--wants-b", metavar="CHARACTER", help="What the second was asked to be, such as proud."),
    ] = None,
    json: Json = False,
    studio: StudioDir = None,
) -> None:
    """Set two takes of one tune side by side.

    How do they differ, and was that asked? A character is a word, such as sleepy or proud, or a file ending .toml with
    its wishes.
    """
    with progress("listening to both takes again"):
        comparison, ids = _comparison(a, b, target, wants_a, wants_b)
    if json:
        print_json(comparison.to_json(**ids))
        return
    for line in _differences(comparison):
        typer.echo(line)


def _reading(take: str, target: str | None, word: str | None) -> tuple[Reading, str | None, str | None]:
    """The reading, and the ids of take and target where the studio has them."""
    from keysense.findings import look as look_at_notes

    if not is_take_file(take) and target is None:
        from keysense.studio.looking import look_at

        with open_studio(create=False) as studio:
            stored = studio.take(take)
            reading = look_at(studio, stored.id, character=(asked := _character(word)))
            _must_fit(asked, word, reading.target)
            kept = studio.reading(stored.id)
            return reading, stored.id, None if kept is None else kept.target_id
    if not is_take_file(take):
        with open_studio(create=False) as studio:
            stored = studio.take(take)
            notes, own = studio.take_notes(stored.id), studio.asked(stored.character)
        music, target_id = _music(target)
        asked = own if word is None else _must_fit(_character(word), word, music)
        return look_at_notes(notes, music, character=asked, practice=_limits()), stored.id, target_id
    notes = read_take_file(take)
    music, target_id = _music(target)
    asked = _must_fit(_character(word), word, music)
    return look_at_notes(notes, music, character=asked, practice=_limits()), None, target_id


def _comparison(
    a: str, b: str, target: str | None, wants_a: str | None, wants_b: str | None
) -> tuple[Comparison, dict[str, str | None]]:
    """The two takes compared, and the ids of what the studio has of them."""
    from keysense.comparing import compare

    wants = _character(wants_a), _character(wants_b)
    if target is None and not is_take_file(a) and not is_take_file(b):
        from keysense.studio.looking import beside as beside_kept
        from keysense.studio.looking import target_for

        with open_studio(create=False) as studio:
            takes = studio.take(a), studio.take(b)
            ids: dict[str, str | None] = {
                "a_id": takes[0].id,
                "b_id": takes[1].id,
                "target_id": target_for(studio, takes[0]).id,
            }
            found = beside_kept(studio, takes[0].id, takes[1].id, wants_a=wants[0], wants_b=wants[1])
            for asked, word in zip(wants, (wants_a, wants_b), strict=True):
                _must_fit(asked, word, found.a.target)
            return found, ids
    first, a_id, target_id = _reading(a, target or "", wants_a)
    second, b_id, _ = _reading(b, target or "", wants_b)
    both = compare(first, second, first.target, wants_a=wants[0], wants_b=wants[1], practice=_limits())
    return both, {"a_id": a_id, "b_id": b_id, "target_id": target_id}


def _music(name: str | None) -> tuple[Target, str | None]:
    """The music of a TUNE: a file, or a piece of the studio by its forgiving name."""
    if not name:
        raise StudioError("say which tune it is: --target with a piece's name, or with a score or .mid file")
    if is_target_file(name):
        from keysense.targets import read_target

        return read_target(name), None
    with open_studio(create=False) as studio:
        stored = studio.target_of(studio.find_piece(name).id)
        return stored.target, stored.id


def _limits() -> Practice:
    """The table of limits, with the teacher's own rows where her studio has some."""
    from keysense.practice import read_practice
    from keysense.studio import studio_folder

    return read_practice(studio_folder().own_practice)


def _character(name: str | None) -> Character | None:
    """The character of a file ending .toml or of a word, forgivingly read; raises UnknownName listing those known."""
    if not name:
        return None
    from pathlib import Path

    from keysense.comparing.characters import read_character, shipped_characters
    from keysense.studio import studio_folder
    from keysense.studio.matching import find

    if name.lower().endswith(".toml"):
        return read_character(Path(name))
    known = {character.word: character for character in shipped_characters()}
    if studio_folder().database.exists():
        with open_studio(create=False) as studio:
            known = studio.characters()
    return known[find("character", name, {word: word for word in known})]


def _must_fit(character: Character | None, word: str | None, music: Target) -> Character | None:
    """The same character; of a file named with the tune, its marks must lie in that tune."""
    from keysense.comparing.characters import must_fit

    if character is not None and str(word).lower().endswith(".toml"):
        must_fit(character, music)
    return character


def _said(reading: Reading, *, everything: bool) -> list[str]:
    """The lines of one reading, the first few unless everything is wanted."""
    from keysense.studio import studio_folder
    from keysense.tempo_words import read_tempo_words
    from keysense.words import counted, say_for_teacher, say_lost, say_shift, say_ties
    from keysense.words.choosing import told
    from keysense.words.many import say_tempo_words

    lines = [reading.target.source.title] if reading.target.source.title else []
    if reading.following.lost:
        return [*lines, say_lost(reading.why_lost, reading.lost_after_bar)]
    lines += [*say_shift(reading.following), *say_ties(reading.following)]
    chosen = told(reading.findings)
    first = [*chosen.asked, *chosen.place, *chosen.moved]
    lines += [say_for_teacher(finding) for finding in first]
    tempo = reading.one("tempo")
    if tempo is not None and tempo.value is not None:
        lines += say_tempo_words(tempo.value, read_tempo_words(studio_folder().tempo_words))
    if everything:
        return lines + [say_for_teacher(finding) for finding in chosen.more]
    return [*lines, counted("look.more", len(chosen.more))] if chosen.more else lines


def _differences(comparison: Comparison) -> list[str]:
    """A line a dimension: what differs, and the outcome where it was asked."""
    from keysense.words import word
    from keysense.words.comparing import dimension_lead, say_dimension

    asked = tuple(wants.word if wants else "" for wants in (comparison.wants_a, comparison.wants_b))
    names = (
        (asked[0], asked[1]) if all(asked) and asked[0] != asked[1] else (word("beside.first"), word("beside.second"))
    )
    title = comparison.a.target.source.title
    return ([title] if title else []) + [
        f"{dimension_lead(dimension)}{f' ({dimension.outcome})' if dimension.outcome else ''}: "
        f"{say_dimension(dimension, names)}"
        for dimension in comparison.dimensions
    ]
