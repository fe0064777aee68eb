"""Everything that is kept of one pupil, to be looked at and taken along: nothing is left out, nobody else is in it."""

from __future__ import annotations

import base64
import io
import json
import zipfile
from collections.abc import Iterator
from datetime import date
from typing import Any

from sqlalchemy import Table, or_, select
from sqlalchemy.orm import Session

from keysense.studio.studio import Studio
from keysense.studio.tables import Base, SettingRow

__all__ = ["copy_of", "kept_of"]

_OF_A_TAKE = ("take_id", "before_id", "beside_id", "from_id")
_README = """What keysense keeps of this pupil: which keys were pressed, when and how firmly, and what was said of it.

takes       every take as a standard MIDI file, which any program for music opens
kept.json   all the rest in plain words and figures: the agreement, what was heard, papers, remarks, guesses
"""


def kept_of(studio: Studio, pupil_id: str) -> dict[str, list[dict[str, Any]]]:
    """By the name of its table every row that is kept of a pupil. Raises UnknownName on an unknown pupil.

    A table that is added later is in it, as long as it says of which pupil or of which take a row is.
    """
    pupil = studio.pupil(pupil_id)
    with studio._store.read() as session:
        take = Base.metadata.tables["take"]
        mine = list(session.scalars(select(take.c.id).where(take.c.pupil_id == pupil.id)))
        found = {table.name: _rows(session, table, pupil.id, mine) for table in Base.metadata.sorted_tables}
        found[SettingRow.__tablename__] = _remembered(session, {pupil.id, *mine})
    return {name: rows for name, rows in found.items() if rows}


def _rows(session: Session, table: Table, pupil_id: str, takes: list[str]) -> list[dict[str, Any]]:
    """The rows of one table that are of this pupil or of one of these takes."""
    told = [table.c.id == pupil_id] if table.name == "pupil" else []
    told += [table.c.pupil_id == pupil_id] if "pupil_id" in table.c else []
    told += [table.c[name].in_(takes) for name in _OF_A_TAKE if name in table.c]
    return [dict(row) for row in session.execute(select(table).where(or_(*told))).mappings()] if told else []


def _remembered(session: Session, ids: set[str]) -> list[dict[str, Any]]:
    """What the studio remembers by one of these ids."""
    rows = ({"name": row.name, "value": row.value} for row in session.scalars(select(SettingRow)))
    return [row for row in rows if any(one in json.dumps(row) for one in ids)]


def copy_of(studio: Studio, pupil_id: str) -> bytes:
    """The same as one ZIP file to take along, each take as a Standard MIDI File beside it."""
    kept, whole = kept_of(studio, pupil_id), io.BytesIO()
    with zipfile.ZipFile(whole, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr("read-me.txt", _README)
        for name, smf in _music(studio, kept.get("take", ())):
            file.writestr(f"takes/{name}", smf)
        file.writestr("kept.json", json.dumps(kept, indent=1, ensure_ascii=False, default=_plain))
    return whole.getvalue()


def _music(studio: Studio, takes: Any) -> Iterator[tuple[str, bytes]]:
    """The music of each take under a name that sorts by its day; it leaves the row."""
    for take in takes:
        day = take["started_utc"].astimezone(studio.settings.zone)
        yield f"{day:%Y-%m-%d %H.%M} {take['id'][:8]}.mid", take.pop("smf")


def _plain(value: Any) -> str:
    """A day or a moment as it is written everywhere; what is no text as base64."""
    return base64.b64encode(value).decode("ascii") if isinstance(value, bytes) else date.isoformat(value)
