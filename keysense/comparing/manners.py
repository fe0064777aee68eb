"""One pupil's pieces learnt by ear beside those learnt from the page: is anything different, as far as one can tell?

Conventions
    A piece counts once, by the median of its takes in that manner. Manners are compared over pieces, never over takes:
    a second take of a piece tells little that is new. Fewer than three pieces of each: early days, nothing is claimed.

Findings
    waits_per_ten (count of waits and goings back, for ten notes), breath (share of the phrase ends that breathed),
    contrast (velocity, 95th minus 5th percentile): the mean over pieces of the second manner minus the first's, with
    Welch's interval; told where p lies below .05 shared among the three.

References
    Not which way of learning is better: the pieces differ too. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding
from keysense.findings.stats import t_two_sided_p, welch
from keysense.practice import Practice, read_practice
from keysense.units import Unit

__all__ = ["MannerDifference", "PieceHeard", "TakeHeard", "manners", "piece_heard"]

MannerWord = Literal["more", "less", "can't tell yet", "early days"]
_UNITS: dict[str, Unit] = {"waits_per_ten": "1", "breath": "1", "contrast": "velocity"}


@dataclass(frozen=True)
class TakeHeard:
    """What is looked at of one take: its findings, how many presses were followed, the velocities of all."""

    findings: Sequence[Finding]
    notes: int
    velocity: npt.NDArray[np.uint8]


@dataclass(frozen=True)
class PieceHeard:
    """One piece in one manner: the medians over its takes, None where a figure could not be known."""

    waits_per_ten: float | None
    breath: float | None
    contrast: float | None


@dataclass(frozen=True)
class MannerDifference:
    """One figure: the second manner minus the first, and what may be said."""

    name: str
    difference: Finding
    word: MannerWord


def piece_heard(takes: Sequence[TakeHeard]) -> PieceHeard:
    """The medians of one piece's takes in one manner; takes in which the place was lost are not given."""
    return PieceHeard(
        _median([_waits(take) for take in takes]),
        _median([_breath(take) for take in takes]),
        _median([_contrast(take) for take in takes]),
    )


def _waits(take: TakeHeard) -> float | None:
    counts = [finding.value for finding in take.findings if finding.name in ("waits", "goings_back")]
    known = [value for value in counts if value is not None]
    return 10 * sum(known) / take.notes if take.notes and known else None


def _breath(take: TakeHeard) -> float | None:
    found = next((finding for finding in take.findings if finding.name == "breath"), None)
    return None if found is None or found.value is None or not found.n else found.value / found.n


def _contrast(take: TakeHeard) -> float | None:
    if len(np.unique(take.velocity)) <= 2:
        return None
    low, high = np.percentile(take.velocity, (5, 95))
    return float(high - low)


def _median(values: Sequence[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return float(np.median(known)) if known else None


def manners(
    first: Sequence[PieceHeard], second: Sequence[PieceHeard], *, practice: Practice | None = None
) -> tuple[MannerDifference, ...]:
    """What differs between pieces learnt in one manner and in another."""
    table = practice or read_practice()
    return tuple(_difference(name, first, second, table) for name in _UNITS)


def _difference(
    name: str, first: Sequence[PieceHeard], second: Sequence[PieceHeard], table: Practice
) -> MannerDifference:
    one, other = (
        np.array([value for piece in pieces if (value := getattr(piece, name)) is not None], float)
        for pieces in (first, second)
    )
    n, unit = len(one) + len(other), _UNITS[name]
    fewest = int(table.value("manner_pieces"))
    if min(len(one), len(other)) < fewest:
        why = f"it takes {fewest} pieces of each, and {len(one)} and {len(other)} came"
        return MannerDifference(name, Finding.missing(name, unit, why, n=n), "early days")
    e = welch(one, other)
    finding = Finding(name, e.value, unit, n, e.low, e.high)
    if e.value is None or t_two_sided_p(e.value, e.se, e.df) >= table.value("false_claims") / len(_UNITS):
        return MannerDifference(name, finding, "can't tell yet")
    return MannerDifference(name, finding, "more" if e.value > 0 else "less")
