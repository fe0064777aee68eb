"""A finding: one figure with its uncertainty, its limit and its place, or the reason why there is none."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any, Literal

from keysense.units import UNITS, Hand, Unit

__all__ = ["Finding", "Limit", "Place", "Verdict"]

Verdict = Literal["within", "beyond", "unsure", "missing"]
_DECIMALS = 10  # of no unit here: what is exactly even must not read as getting slower by some 1e-13 %


@dataclass(frozen=True)
class Limit:
    """A limit of common practice: ``max`` and ``min`` bound one side, ``both`` bounds the size of the value."""

    value: float
    side: Literal["max", "min", "both"]


@dataclass(frozen=True)
class Place:
    """Where in the music: written bars (first and last, both counted), the hand, the id of a mark or note of the music.

    ``how`` says in a word what was heard there, where a finding tells kinds apart.
    """

    bars: tuple[int, int] | None = None
    hand: Hand | None = None
    mark: str | None = None
    how: str = ""

    def to_json(self) -> dict[str, Any]:
        """The place as the contract writes it."""
        bars = None if self.bars is None else list(self.bars)
        return {"bars": bars, "hand": self.hand, "mark": self.mark, **({"how": self.how} if self.how else {})}


@dataclass(frozen=True, init=False)
class Finding:
    """One figure that was heard.

    value: None when it cannot be known, and then ``why_missing`` says why in words; missing is never zero.
    n: how many notes, intervals or pairs it rests on. low, high: the 95 % interval, None for counts.
    places: for counts, where each one was. stands: False where it leans one way, but no more than something among so
    much measured at once will lean by chance (`keysense.findings.claims`): no direction is claimed of it then. chance:
    how often a value this far from zero comes from nothing, where more is known of it than the interval tells; it is
    needed while a page is weighed, and is not kept. Raises ValueError on a unit outside `keysense.units.UNITS`, and on
    a missing value without its reason.
    """

    name: str
    value: float | None
    unit: Unit
    n: int
    low: float | None = None
    high: float | None = None
    limit: Limit | None = None
    place: Place = Place()
    why_missing: str = ""
    places: tuple[Place, ...] = ()
    stands: bool = True
    chance: float | None = field(default=None, repr=False, compare=False)

    def __init__(
        self, name: str, value: float | None, unit: Unit, n: int, low: float | None = None, high: float | None = None,
        limit: Limit | None = None, place: Place = Place(), why_missing: str = "", places: tuple[Place, ...] = (),
        stands: bool = True, chance: float | None = None,
    ) -> None:  # fmt: skip
        if unit not in UNITS:
            raise ValueError(f"{name}: unit {unit!r} is none of {', '.join(UNITS)}")
        kept = self.__dict__  # field by field through object.__setattr__ thousands of findings would take long
        kept["name"], kept["unit"], kept["n"] = name, unit, int(n)
        kept["value"] = None if value is None else _figure(value)
        kept["low"], kept["high"] = None if low is None else _figure(low), None if high is None else _figure(high)
        kept["limit"], kept["place"], kept["places"] = limit, place, places
        kept["why_missing"], kept["stands"], kept["chance"] = why_missing, stands, chance
        if kept["value"] is None and not why_missing:
            raise ValueError(f"{name}: a missing value must say why")

    @classmethod
    def missing(
        cls, name: str, unit: Unit, why: str, *, n: int = 0, place: Place = Place(), limit: Limit | None = None
    ) -> Finding:
        """A figure that cannot be known, with its reason; its verdict is "missing" where a limit would bound it."""
        return cls(name, None, unit, n, None, None, limit, place, why)

    @property
    def verdict(self) -> Verdict | None:
        """Where the interval lies against the limit; None without a limit. What does not stand cannot be told."""
        if self.limit is None:
            return None
        if self.value is None:
            return "missing"
        low = self.value if self.low is None else self.low
        high = self.value if self.high is None else self.high
        if self.limit.side == "both":
            low, high = _size_interval(low, high)
        if self.limit.side == "min":
            low, high, bound = -high, -low, -self.limit.value
        else:
            bound = self.limit.value
        verdict: Verdict = "within" if high <= bound else "beyond" if low > bound else "unsure"
        claims_a_way = "beyond" if self.limit.side == "both" else "within"
        return "unsure" if verdict == claims_a_way and not self.stands else verdict

    def to_json(self) -> dict[str, Any]:
        """The finding as the contract writes it: plain types, no NaN."""
        row: dict[str, Any] = {
            "name": self.name,
            "value": self.value,
            "unit": self.unit,
            "n": self.n,
            "low": self.low,
            "high": self.high,
            "limit": None if self.limit is None else {"value": self.limit.value, "side": self.limit.side},
            "place": self.place.to_json(),
            "verdict": self.verdict,
            "stands": self.stands,
            "why_missing": self.why_missing or None,
        }
        if self.unit == "count":
            row["places"] = [place.to_json() for place in self.places]
        return row


def _figure(value: Any) -> float | None:
    """A float; NaN and infinity are no figures, and what lies beyond the tenth decimal is rounding."""
    figure = float(value)
    return round(figure, _DECIMALS) + 0.0 if math.isfinite(figure) else None


def _size_interval(low: float, high: float) -> tuple[float, float]:
    """The interval of the size of a signed value."""
    if low <= 0 <= high:
        return 0.0, max(-low, high)
    return min(abs(low), abs(high)), max(abs(low), abs(high))
