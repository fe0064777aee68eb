"""What was kept in another studio (a lesson at a pupil's home, on another machine) brought into this one.

Everything has a random id, so nothing is ever taken for something else, and gathering twice brings nothing twice. What
is here already stays as it is. Pieces of one title are one piece; their music from elsewhere becomes an older version.
Pupils of one nickname and two ids are asked about: one child in two registers, or two children? Only kept takes come
along, with all that hangs on them, never the other studio's listening. The other studio is not changed.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sqlalchemy import Table, UniqueConstraint, and_, func, select
from sqlalchemy.orm import Session

from keysense.errors import StudioError
from keysense.studio.matching import words_of
from keysense.studio.studio import Studio
from keysense.studio.tables import Base

__all__ = ["Gathered", "gather", "in_both"]

_STAYS = ("setting", "origin", "doubt")  # of that machine, or of takes that nobody decided about yet
_POINTS_AT = {"pupil_id": "pupil", "piece_id": "piece", "target_id": "target", "take_id": "take", "beside_id": "take",
              "before_id": "take"}  # fmt: skip
_COUNTED = ("pupil", "piece", "take")


@dataclass
class Gathered:
    """How many pupils, pieces and takes came, and how many takes were here already."""

    pupils: int = 0
    pieces: int = 0
    takes: int = 0
    here: int = 0


@dataclass
class _Ids:
    """By table: which id a row from elsewhere has here."""

    known: dict[str, dict[str, str]] = field(default_factory=lambda: {name: {} for name in set(_POINTS_AT.values())})


def gather(studio: Studio, folder: Path, *, same: Collection[str] = ()) -> Gathered:
    """Bring what was kept in the studio of another folder.

    same: nicknames of pupils who stand in both registers under two ids and are one child. Raises StudioError where
    the folder holds no studio or is this one, or a nickname is in both and was not said to be one child's.
    """
    if folder.expanduser().absolute() == studio.folder.root:
        raise StudioError(f"{folder} is this studio itself: name the folder of the other one")
    found, ids = Gathered(), _Ids()
    with Studio.open(folder, create=False, now=studio.now) as other:
        ids.known["pupil"] = _one_child_or_two(studio, other, same)
        with other._store.read() as theirs, studio._store.write() as ours:
            for table in Base.metadata.sorted_tables:
                if table.name not in _STAYS:
                    _bring(table, theirs, ours, ids, found)
    studio.renew_marks()
    studio._log.info("another studio was gathered: %d takes", found.takes)
    return found


def in_both(studio: Studio, folder: Path) -> list[str]:
    """Nicknames that stand in both registers under two ids: one child, or two? Raises StudioError as `gather`."""
    with Studio.open(folder, create=False, now=studio.now) as other:
        return list(_twice(studio, other))


def _twice(studio: Studio, other: Studio) -> dict[str, tuple[str, str]]:
    """By such a nickname: the id there, and the id here."""
    here = {tuple(words_of(pupil.nickname)): pupil.id for pupil in studio.pupils()}
    rows = ((pupil, here.get(tuple(words_of(pupil.nickname)), pupil.id)) for pupil in other.pupils())
    return {pupil.nickname: (pupil.id, id_) for pupil, id_ in rows if id_ != pupil.id}


def _one_child_or_two(studio: Studio, other: Studio, same: Collection[str]) -> dict[str, str]:
    """The ids here of pupils who stand in both registers under two."""
    said = {tuple(words_of(name)) for name in same}
    twice = _twice(studio, other)
    for nickname in twice:
        if tuple(words_of(nickname)) not in said:
            raise StudioError(
                f"{nickname} stands in both registers: if that is one child, say --same {nickname}; "
                "if not, give one of the two another nickname first"
            )
    return dict(twice.values())


def _bring(table: Table, theirs: Session, ours: Session, ids: _Ids, found: Gathered) -> None:
    for row in theirs.execute(select(table)).mappings():
        values = dict(row)
        own = str(values.get("id", ""))
        if own and own in ids.known.get(table.name, {}):
            continue
        if table.name == "take" and (values["state"] != "kept" or values["carried"]):
            continue
        if not _pointed(table, values, ids):
            continue
        here = _here(table, values, ours)
        if table.name in ids.known:
            ids.known[table.name][own] = here or own
        if here is None:
            ours.execute(table.insert().values(**_as_it_comes(table, values, ours)))
            if table.name in _COUNTED:
                setattr(found, f"{table.name}s", getattr(found, f"{table.name}s") + 1)
        elif table.name == "take":
            found.here += 1


def _pointed(table: Table, values: dict[str, Any], ids: _Ids) -> bool:
    """Point a row at what is here; False where it hangs on something that does not come along."""
    for column, to in _POINTS_AT.items():
        pointed = values.get(column)
        if pointed is None:
            continue
        if pointed not in ids.known[to]:
            return False
        values[column] = ids.known[to][pointed]
    return True


def _here(table: Table, values: dict[str, Any], ours: Session) -> str | None:
    """The id under which this row stands here already (a word for rows without one); None where it does not."""
    keys = [tuple(table.primary_key.columns)]
    keys += [tuple(one.columns) for one in table.constraints if isinstance(one, UniqueConstraint)]
    if table.name == "target":
        keys = [keys[0]]  # the number of a version says nothing across two studios
    for columns in keys:
        query = select(table).where(and_(*(column == values[column.name] for column in columns)))
        there = ours.execute(query).mappings().first()
        if there is not None:
            return str(there.get("id", "here"))
    return None


def _as_it_comes(table: Table, values: dict[str, Any], ours: Session) -> dict[str, Any]:
    """A take without its place in the other's listening; music as a version older than all that are here."""
    if table.name == "take":
        return {**values, "journal": "", "journal_start": None, "journal_end": None}
    if table.name == "target":
        oldest = ours.execute(select(func.min(table.c.version)).where(table.c.piece_id == values["piece_id"])).scalar()
        return values if oldest is None else {**values, "version": min(int(oldest) - 1, int(values["version"]))}
    return values
