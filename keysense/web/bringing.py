"""Files that a browser sends: read as the music of a piece, put on the shelf; what cannot be read is told in words."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path, PurePath
from tempfile import TemporaryDirectory
from typing import Any, NamedTuple

from starlette.datastructures import FormData, UploadFile

from keysense.errors import KeysenseError, StudioError, TargetError
from keysense.studio.matching import words_of
from keysense.studio.studio import Studio
from keysense.targets import read_target
from keysense.targets.target import Target
from keysense.words import word

__all__ = ["Players", "bring_all", "bring_one", "number", "piece_called"]

_LARGEST_PAGE = 16_000_000  # bytes of a page that a browser may send


class Players(NamedTuple):
    """Two players on one keyboard: how the score calls the pupil's part and the other's; empty for one player."""

    part: str = ""
    beside: str = ""

    @classmethod
    def of(cls, form: FormData) -> Players:
        """As they were typed."""
        return cls(*(" ".join(str(form.get(name, "")).split()) for name in cls._fields))


_ONE = Players()


def bring_all(studio: Studio, files: Sequence[Any], players: Players = _ONE) -> list[str]:
    """Put each file on the shelf and give the ids of their pieces; what can be read is kept even if another cannot.

    Raises TargetError naming each file that cannot be read, and that the others are there.
    """
    brought, faults = [], []
    for sent in files or [None]:
        try:
            brought.append(bring_one(studio, sent, players=players))
        except KeysenseError as cause:
            faults.append(str(cause))
    if faults:
        raise TargetError(" ".join([*faults, word("drop.others")] if brought else faults))
    return brought


def bring_one(studio: Studio, sent: Any, *, piece_id: str = "", players: Players = _ONE) -> str:
    """Put one file on the shelf, as a piece of its title or as another version of one; gives the piece's id."""
    target, name = _read(sent, players)
    if not piece_id:
        own = target.source.title
        title = PurePath(name).stem if own in ("", "brought") else own
        piece_id = piece_called(studio, title)
    studio.add_target(piece_id, _with_layers(studio, piece_id, target))
    return piece_id


def _with_layers(studio: Studio, piece_id: str, target: Target) -> Target:
    """What a character asks for, in the version before, goes on being asked where its notes are still there."""
    try:
        before = studio.target_of(piece_id).target
    except StudioError:
        return target
    there, own = set(target.notes["id"].tolist()), {mark.layer for mark in target.marks}
    kept = [m for m in before.marks if m.layer and m.layer not in own and m.note_ids and there.issuperset(m.note_ids)]
    return target.with_marks([*target.marks, *kept])


def piece_called(studio: Studio, title: str) -> str:
    """The piece of exactly this title, new if there is none: a new piece is never guessed to be an old one."""
    known = next((piece for piece in studio.pieces() if words_of(piece.title) == words_of(title)), None)
    return (known or studio.add_piece(title)).id


def number(form: FormData, name: str) -> float:
    """A number that was typed into a field; raises TargetError on anything else."""
    said = str(form.get(name, "")).strip()
    try:
        return float(said.replace(",", "."))
    except ValueError:
        raise TargetError(word("playin.number", said=said)) from None


def _read(sent: Any, players: Players) -> tuple[Target, str]:
    """The music in a file, and the file's own name."""
    if not isinstance(sent, UploadFile) or not sent.filename:
        raise TargetError(word("bring.empty"))
    data = sent.file.read(_LARGEST_PAGE + 1)
    name = PurePath(sent.filename.replace("\\", "/")).name
    if len(data) > _LARGEST_PAGE:
        raise TargetError(word("bring.large"))
    if any(players) and PurePath(name).suffix.lower() in (".mid", ".midi"):
        raise TargetError(word("two.midi"))
    with TemporaryDirectory() as folder:
        file = Path(folder) / f"brought{PurePath(name).suffix.lower()}"
        file.write_bytes(data)
        try:
            return read_target(file, part=players.part or None, beside=players.beside or None), name
        except TargetError as cause:
            raise TargetError(str(cause).replace(str(file), name).replace(file.name, name)) from cause
