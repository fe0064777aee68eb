"""The one table of limits: ``practice.toml``, and the teacher's own rows laid over it.

Each row has a value, a unit, a side, a basis (``published``, ``computed`` or ``common practice``), a source, and
what it is used for in words. A limit without a published source says "common practice, no source"; a value of the
teacher's own has her file as its source, unless she names another.
"""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any, Literal

from keysense.errors import PracticeError
from keysense.finding import Limit

__all__ = ["Practice", "Row", "read_practice"]

_SIDES = ("max", "min", "both", "none")
_BASES = ("published", "computed", "common practice")
_FIELDS = ("value", "unit", "side", "basis", "source", "meaning")
_OWN = {"basis": "common practice", "source": "your own file"}
_TIMES = 10  # a ratio of the teacher's own may be so many times the one that ships
_CHANCES = ("false_claims", "shown_first_chance", "sight_page", "tempo_change_chance", "asked_first")


@dataclass(frozen=True)
class Row:
    """One row of the table. ``side`` is ``none`` for a setting that bounds no finding."""

    name: str
    value: float
    unit: str
    side: Literal["max", "min", "both", "none"]
    basis: str
    source: str
    meaning: str

    @property
    def limit(self) -> Limit | None:
        """The row as a limit of a finding, None where it bounds none."""
        return None if self.side == "none" else Limit(self.value, self.side)


@dataclass(frozen=True)
class Practice:
    """The whole table, in the order of the file."""

    rows: dict[str, Row]

    def value(self, name: str) -> float:
        """The value of one row; raises PracticeError on a name that is not in the table."""
        return self._row(name).value

    def limit(self, name: str) -> Limit | None:
        """The limit that bounds the finding of this name, None where the table has none."""
        row = self.rows.get(name)
        return None if row is None else row.limit

    def _row(self, name: str) -> Row:
        try:
            return self.rows[name]
        except KeyError:
            raise PracticeError(
                f"practice.toml has no row {name!r}: add it with value, unit, basis and source"
            ) from None


def read_practice(own: str | Path | None = None) -> Practice:
    """The table that ships, with the rows of the teacher's own file laid over it.

    Raises PracticeError naming the file, where it is not there, and the row that cannot be read.
    """
    if own is None:
        return _shipped()
    try:
        kept = tomllib.loads(Path(own).read_text("utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as cause:
        raise PracticeError(f"{own} cannot be read as TOML ({cause}): mend the line it names") from cause
    rows = dict(_shipped().rows)
    return Practice(rows | {name: _own_row(str(own), name, fields, rows) for name, fields in kept.items()})


def _own_row(file: str, name: str, fields: Any, rows: dict[str, Row]) -> Row:
    """A row of the teacher's own: what she leaves out stays as it ships, but her value has no other's source."""
    if name not in rows:
        raise PracticeError(f"{file}: there is no row [{name}]; `keysense practice` shows the rows there are")
    if not isinstance(fields, dict):
        return _row(file, name, fields)
    if unknown := [field for field in fields if field not in _FIELDS]:
        raise PracticeError(f"{file}: row [{name}] has no {', '.join(unknown)}; it can have {', '.join(_FIELDS)}")
    ships = rows[name]
    row = _row(file, name, _fields(ships) | (_OWN if "value" in fields else {}) | fields)
    if (row.unit, row.side) != (ships.unit, ships.side):
        raise PracticeError(
            f"{file}: row [{name}] is of unit {ships.unit} and side {ships.side}, and stays so: leave both out"
        )
    if name in _CHANCES and not 0 < row.value < 1:
        raise PracticeError(f"{file}: row [{name}] has the value {row.value:g}: give one above 0 and below 1")
    least, most = _reach(ships)
    if not least <= row.value <= most or (row.value == 0 and _is_share(ships)):
        few = "above 0" if _is_share(ships) else f"{least:g} or more"
        many = "" if math.isinf(most) else f", and no more than {most:g}"
        raise PracticeError(f"{file}: row [{name}] has the value {row.value:g}: give {few}{many}")
    return row


def _is_share(row: Row) -> bool:
    return row.unit == "1" and 0 < row.value < 1


def _reach(row: Row) -> tuple[float, float]:
    """The least and the most that a row can mean: a share stays a share (.75, not 75), a ratio one of one or more."""
    if row.unit != "1":
        return (1.0 if row.unit == "count" else 0.0), math.inf
    if row.value < 1:
        return min(0.0, math.copysign(1.0, row.value)), 1.0
    return 1.0, _TIMES * row.value


@cache
def _shipped() -> Practice:
    text = files("keysense").joinpath("practice.toml").read_text("utf-8")
    return Practice({name: _row("practice.toml", name, fields) for name, fields in tomllib.loads(text).items()})


def _fields(row: Row) -> dict[str, Any]:
    return {name: getattr(row, name) for name in _FIELDS}


def _row(file: str, name: str, fields: Any) -> Row:
    try:
        words = {field: str(fields[field]) for field in ("unit", "basis", "source", "meaning")}
        if isinstance(fields["value"], bool):
            raise TypeError("true and false are no numbers")
        row = Row(name, float(fields["value"]), side=fields["side"], **words)
    except (KeyError, TypeError, ValueError, OverflowError) as cause:
        raise PracticeError(
            f"{file}: row [{name}] needs a number as value, and unit, side, basis, source and meaning in words"
        ) from cause
    if not math.isfinite(row.value) or (row.side == "both" and row.value < 0):
        raise PracticeError(
            f"{file}: row [{name}] has the value {row.value:g}: give a number, none below zero where the side is both"
        )
    if row.side not in _SIDES or row.basis not in _BASES:
        raise PracticeError(
            f"{file}: row [{name}] has the side {row.side} and the basis {row.basis}; sides are {', '.join(_SIDES)}, "
            f"bases are {', '.join(_BASES)}"
        )
    return row
