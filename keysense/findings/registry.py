"""The register of findings: what each name means, its unit, what it was checked against, and where that is tested.

Marks of an outside check: V published and read; C computed on open data, by simulation, or with a public library;
M from memory, not verified; P common practice of the trade, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from keysense.findings.registered import ROWS
from keysense.units import Unit

__all__ = ["REGISTER", "Registered"]


@dataclass(frozen=True)
class Registered:
    """One name that `keysense.findings.look` may emit.

    limit: the row of ``practice.toml`` that bounds it, empty where none does. check: the outside check, with its
    source; mark: V, C, M or P. test: ``file::name`` under tests/, where the check stands.
    """

    name: str
    unit: Unit
    definition: str
    limit: str
    check: str
    mark: str
    test: str


REGISTER: dict[str, Registered] = {row[0]: Registered(*row) for row in ROWS}
