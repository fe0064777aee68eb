"""Two takes of one tune set side by side: what differs, by how much, and was it asked?

Conventions
    Takes are compared through the notes that sounded in both (`keysense.comparing.compared`). A wish lies between two
    takes: what both are asked alike is no wish. Two takes are alike in a dimension only where that is known; what is
    neither claimed nor ruled out has no way at all.

Findings
    Six dimensions, each b minus a, in the order of `keysense.comparing.characters.WISHES`. How each is measured:
    `keysense.comparing.dimensions`, `keysense.comparing.pulses`. What may be said: `keysense.comparing.outcomes`.

References
    None: bookkeeping. The noticeable steps are rows of the table of practice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from keysense.comparing.characters import WISHES, Character, wish_direction
from keysense.comparing.compared import Compared, not_compared, through_shared_notes
from keysense.comparing.dimensions import MEASURES
from keysense.comparing.outcomes import Gauged, Outcome, Way, claimed, outcome_of, way_of
from keysense.comparing.pooled import pooled
from keysense.errors import TargetError
from keysense.finding import Finding, Limit
from keysense.findings import RECIPE, Reading, look
from keysense.findings.heard import Heard
from keysense.notes import Take
from keysense.practice import Practice, read_practice
from keysense.targets.target import Target

__all__ = ["Comparison", "Dimension", "compare"]


@dataclass(frozen=True)
class Dimension:
    """One dimension of two takes.

    difference: b minus a, its limit the noticeable step. wish: how b was wished beside a ("quicker"), from both
    characters; None where neither asks or both ask the same. wish_a, wish_b: what each asks. way: "up" where b has more
    of it, "down" where less, "same" where both are alike, None where that cannot be told.
    """

    name: str
    a: Finding
    b: Finding
    difference: Finding
    wish: str | None
    outcome: Outcome | None
    wish_a: str | None = None
    wish_b: str | None = None
    way: Way | None = None

    def to_json(self) -> dict[str, Any]:
        """Plain types only."""
        return {
            "name": self.name,
            "a": self.a.to_json(),
            "b": self.b.to_json(),
            "difference": self.difference.to_json(),
            "wish": self.wish,
            "wish_a": self.wish_a,
            "wish_b": self.wish_b,
            "outcome": self.outcome,
            "way": self.way,
        }


@dataclass(frozen=True)
class Comparison:
    """Two readings and their six dimensions, in the order of `keysense.comparing.characters.WISHES`.

    takes: of how many takes the figures of each side are the mean.
    """

    a: Reading
    b: Reading
    dimensions: tuple[Dimension, ...]
    wants_a: Character | None = None
    wants_b: Character | None = None
    takes: tuple[int, int] = (1, 1)

    def one(self, name: str) -> Dimension:
        """The dimension of this name; KeyError where there is none."""
        for dimension in self.dimensions:
            if dimension.name == name:
                return dimension
        raise KeyError(name)

    def open_wish(self, *outcomes: Outcome) -> tuple[int, str] | None:
        """Which take to play again (0: a, 1: b) and with which wish: that of the first dimension with such an outcome.

        The first outcome named comes first. Of two wishes it is b's, unless b is as even already as it was wished to
        be: then what is open is that a be freer. None where nothing is open.
        """
        for outcome in outcomes:
            for dimension in self.dimensions:
                if dimension.outcome == outcome and (dimension.wish_a or dimension.wish_b):
                    which = 1 if dimension.wish_b and not (dimension.wish_a and self._walks(dimension.wish_b)) else 0
                    return which, str(dimension.wish_b if which else dimension.wish_a)
        return None

    def _walks(self, wish_b: str) -> bool:
        """Whether b was wished to be even, and is by the teacher's own limit."""
        even = [f.value <= f.limit.value for f in self.b.findings
                if f.name == "evenness_timing" and f.value is not None and f.limit is not None]  # fmt: skip
        return wish_b == "even" and bool(even) and all(even)

    def to_json(
        self, *, a_id: str | None = None, b_id: str | None = None, target_id: str | None = None
    ) -> dict[str, Any]:
        """The contract's JSON; a difference is always b minus a."""
        whole = self.a.to_json(take_id=a_id, target_id=target_id)
        other = self.b.to_json(take_id=b_id, target_id=target_id)
        return {
            "schema": whole["schema"],
            "keysense": whole["keysense"],
            "recipe": RECIPE,
            "takes": {"a": whole["take"], "b": other["take"]},
            "target": whole["target"],
            "following": {"a": whole["following"], "b": other["following"]},
            "characters": {
                "a": None if self.wants_a is None else self.wants_a.word,
                "b": None if self.wants_b is None else self.wants_b.word,
            },
            "difference_is": "b minus a",
            "dimensions": [dimension.to_json() for dimension in self.dimensions],
        }


def compare(
    a: Reading | Take,
    b: Reading | Take,
    target: Target | None = None,
    *,
    wants_a: Character | None = None,
    wants_b: Character | None = None,
    practice: Practice | None = None,
    more_a: Sequence[Reading | Take] = (),
    more_b: Sequence[Reading | Take] = (),
) -> Comparison:
    """Set two takes of one tune side by side.

    more_a, more_b: further takes of the same day in the same character, to be taken together with a and with b where
    the piece is short (`keysense.comparing.pooled`). Takes are looked at against ``target``; readings are taken as
    they are. Raises TargetError on a take without target, and on readings of two different tunes.
    """
    table = practice or read_practice()
    sides = [
        [_reading(take, target, wants, table) for take in takes]
        for takes, wants in (((a, *more_a), wants_a), ((b, *more_b), wants_b))
    ]
    for reading in (*sides[0][1:], *sides[1]):
        _must_be_one_tune(sides[0][0].target, reading.target)
    (one, n_one), (other, n_other) = (
        pooled([Heard(reading.take, reading.target, reading.following, table, wants) for reading in side])
        for side, wants in zip(sides, (wants_a, wants_b), strict=True)
    )
    pair = through_shared_notes(one, other)
    dimensions = tuple(_dimension(name, *pair, wants_a, wants_b) for name in WISHES)
    return Comparison(sides[0][0], sides[1][0], dimensions, wants_a, wants_b, (n_one, n_other))


def _must_be_one_tune(a: Target, b: Target) -> None:
    alike = (np.array_equal(a.notes[name], b.notes[name]) for name in ("onset_quarter", "pitch"))
    if a is not b and not all(alike):
        raise TargetError("these are takes of two different tunes: set two takes of one tune side by side")


def _reading(take: Reading | Take, target: Target | None, wants: Character | None, practice: Practice) -> Reading:
    if isinstance(take, Reading):
        return take
    if target is None:
        raise TargetError("two takes are compared against the music they play: give target=")
    return look(take, target, character=wants, practice=practice)


def _dimension(name: str, a: Heard, b: Heard, wants_a: Character | None, wants_b: Character | None) -> Dimension:
    measured = _lost(name, a, b) or MEASURES[name](a, b)
    wish_a, wish_b = (None if wants is None else wants.wishes.get(name) for wants in (wants_a, wants_b))
    wished = _wished(name, wish_a, wish_b)
    gauged = Gauged(measured.difference, measured.step, measured.clear)
    chance = a.practice.value("false_claims")
    heard = claimed(measured.difference, measured.step, measured.p, dimensions=len(MEASURES), chance=chance)
    outcome = outcome_of(gauged, heard, wished, measured.beside)
    way = way_of(gauged, heard, measured.beside)
    wish = None if wished == 0 else WISHES[name][0 if wished < 0 else 1]
    return Dimension(name, measured.a, measured.b, _difference(measured), wish, outcome, wish_a, wish_b, way)


def _lost(name: str, a: Heard, b: Heard) -> Compared | None:
    """Nothing is compared where the place was lost."""
    for heard, which in ((a, "first"), (b, "second")):
        if heard.following.lost:
            return not_compared(name, f"the place was lost in the {which} take")
    return None


def _wished(name: str, wish_a: str | None, wish_b: str | None) -> int:
    """The direction in which b is wished beside a; none where both are wished alike."""
    of_a, of_b = wish_direction(name, wish_a), wish_direction(name, wish_b)
    return 0 if of_a == of_b else of_b or -of_a


def _difference(measured: Compared) -> Finding:
    e, name, unit = measured.difference, measured.a.name, measured.a.unit
    if e.value is None:
        return Finding.missing(name, unit, measured.why_missing, n=e.n)
    return Finding(name, e.value, unit, e.n, e.low, e.high, Limit(measured.step, "both"))
