"""Lessons made of a few findings."""

from __future__ import annotations

from datetime import date

from keysense.finding import Finding, Limit, Place
from keysense.papers import Lesson, Pair, Played

DAY = date(2026, 11, 24)


def rise(value: float, low: float, high: float, *, bars: tuple[int, int] = (5, 6), fall: bool = False) -> Finding:
    limit = Limit(-8, "max") if fall else Limit(8, "min")
    return Finding("rise", value, "velocity", 7, low, high, limit, Place(bars, "R", "m1"))


GREW = rise(26, 14, 38)
NOT_YET = rise(1, -3, 4)
WAITED = Finding("waits", 1, "count", 20, places=(Place((3, 3), "R"),))
BREATHED = Finding("breath", 1, "count", 2, places=(Place((4, 4), how="let go"),))


def lesson(*findings: Finding, character: str = "", pair: Pair | None = None, **more: object) -> Lesson:
    played = Played("a" * 32, "The Miller’s Cat", character, findings=tuple(findings), **more)  # type: ignore[arg-type]
    return Lesson("p" * 32, "Pip", DAY, (played,), pair)


def two(trying: tuple[int, str] | None = None, came: tuple[str, ...] = ("quicker", "louder")) -> Lesson:
    rows = tuple(Played(letter * 32, "The Miller’s Cat", word) for letter, word in (("a", "sleepy"), ("b", "proud")))
    pair = Pair("The Miller’s Cat", ("sleepy", "proud"), ("a" * 32, "b" * 32), came, trying)
    return Lesson("p" * 32, "Pip", DAY, rows, pair)
