"""One finding over the weeks: a dot a week with its interval, and from five weeks on a word.

Conventions
    Weeks are ISO weeks of the dates given (the studio's own time zone). The figure of a week is the median of its
    takes. The word goes by the wish, never by the sign of the figure; without a wish there is no trend word.

Findings
    Trend: exact two-sided Mann-Kendall over the weekly medians (normal law with tie correction where weeks tie, or
    beyond 60 weeks), Theil-Sen slope a week. Words: "nearer the wish" ("more even" where evenness was wished),
    "further from the wish", "about as before", "now here, now there" (the weeks differ by more than their own
    intervals allow), "can't tell yet" below five weeks.

References
    Mann 1945, Kendall 1975 (memory). Check (computed): [10 12 11 14 15 13 16 18]: S 22, exact p .00551, slope 1.0.
    A perfect rise of four weeks has p = .083, hence five.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

import numpy as np
import numpy.typing as npt

from keysense.findings.stats import median_of, theil_sen
from keysense.practice import Practice, read_practice

__all__ = ["TrendWord", "Week", "WeekLine", "WeekPoint", "mann_kendall", "weeks"]

Floats = npt.NDArray[np.float64]
TrendWord = Literal[
    "more even", "nearer the wish", "further from the wish", "about as before", "now here, now there", "can't tell yet"
]

_DIRECTION = {
    "lower": -1, "even": -1, "slower": -1, "softer": -1, "less": -1, "apart": -1, "none": -1,
    "higher": 1, "free": 1, "quicker": 1, "louder": 1, "more": 1, "joined": 1, "breath": 1,
}  # fmt: skip
_MOST_EXACT = 60


@dataclass(frozen=True)
class WeekPoint:
    """One take's figure on one day; instrument: where it changes between weeks the line breaks."""

    when: date
    value: float
    low: float | None = None
    high: float | None = None
    instrument: str = ""


@dataclass(frozen=True)
class Week:
    """One ISO week: the median of its takes, its interval where one can be had, how many takes."""

    year: int
    week: int
    value: float
    low: float | None
    high: float | None
    n: int
    instrument: str = ""


@dataclass(frozen=True)
class WeekLine:
    """The weeks and what may be said of them. p and slope (a week) are None below the fewest weeks for a word."""

    weeks: tuple[Week, ...]
    word: TrendWord | None
    p: float | None = None
    slope: float | None = None
    low: float | None = None
    high: float | None = None
    why: str = ""


def weeks(points: Sequence[WeekPoint], wish: str | None = None, *, practice: Practice | None = None) -> WeekLine:
    """The weeks of one finding and the word they allow.

    wish: a wish of a character ("even", "joined", ...), or "lower" or "higher" of the figure itself, or None. Only
    weeks on the instrument of the latest one are judged. Raises ValueError on a wish that is none of these.
    """
    if wish is not None and wish not in _DIRECTION:
        raise ValueError(f"a trend cannot be judged by the wish {wish!r}; wishes are {', '.join(_DIRECTION)}")
    found = _by_week(points)
    judged = [week for week in found if week.instrument == found[-1].instrument]  # another piano breaks the line
    fewest = int((practice or read_practice()).value("trend_weeks"))
    if len(judged) < fewest:
        return WeekLine(found, None if wish is None else "can't tell yet", why=_too_few(len(judged), fewest))
    values = np.array([week.value for week in judged])
    at = np.array([date.fromisocalendar(week.year, week.week, 1).toordinal() / 7 for week in judged])
    s, p = mann_kendall(values)
    slope = theil_sen(at, values)
    word = None if wish is None else _word(judged, s, p, wish)
    return WeekLine(found, word, p, slope.value, slope.low, slope.high)


def _too_few(n: int, fewest: int) -> str:
    return f"no trend can be told from fewer than {fewest} weeks on one piano, and {n} came"


def _word(judged: list[Week], s: int, p: float, wish: str) -> TrendWord:
    if p <= 0.05:
        if s * _DIRECTION[wish] < 0:
            return "further from the wish"
        return "more even" if wish == "even" else "nearer the wish"
    return "now here, now there" if _scattered(judged) else "about as before"


def _scattered(judged: list[Week]) -> bool:
    """Whether the weeks differ by more than their own intervals allow (chi-square of homogeneity, 5 %)."""
    from scipy.special import chdtrc

    known = [(week.value, (week.high - week.low) / 3.92) for week in judged
             if week.low is not None and week.high is not None and week.high > week.low]  # fmt: skip
    if len(known) < 3:
        return False
    value, se = np.array(known).T
    weight = 1 / se**2
    middle = float((weight * value).sum() / weight.sum())
    return bool(chdtrc(len(known) - 1, float((weight * (value - middle) ** 2).sum())) < 0.05)


def _by_week(points: Sequence[WeekPoint]) -> tuple[Week, ...]:
    gathered: dict[tuple[int, int, str], list[WeekPoint]] = {}
    for point in sorted(points, key=lambda point: point.when):
        year, week, _ = point.when.isocalendar()
        gathered.setdefault((year, week, point.instrument), []).append(point)
    return tuple(_week(*key, taken) for key, taken in gathered.items())


def _week(year: int, week: int, instrument: str, taken: list[WeekPoint]) -> Week:
    values = np.array([point.value for point in taken])
    middle = float(np.median(values))
    low, high = _interval(middle, values, taken)
    return Week(year, week, middle, low, high, len(taken), instrument)


def _interval(middle: float, values: Floats, taken: list[WeekPoint]) -> tuple[float | None, float | None]:
    """From the takes' own scatter where there are six; below, from their own intervals, narrowed by their number."""
    if len(taken) >= 6:
        _, low, high = median_of(values).whole()
        return low, high
    own = [(point.value - point.low, point.high - point.value) for point in taken
           if point.low is not None and point.high is not None]  # fmt: skip
    if len(own) < len(taken):
        return None, None
    below, above = np.mean(own, axis=0) * math.sqrt((1 if len(own) < 3 else math.pi / 2) / len(own))
    return middle - float(below), middle + float(above)


def mann_kendall(values: Floats) -> tuple[int, float]:
    """Kendall's S over time and its two-sided p, exact where no values tie."""
    n = len(values)
    later, earlier = np.tril_indices(n, -1)
    s = int(np.sign(values[later] - values[earlier]).sum())
    _, ties = np.unique(values, return_counts=True)
    if ties.max() > 1 or n > _MOST_EXACT:
        return s, _normal_p(s, n, ties)
    counts = np.ones(1)
    for size in range(2, n + 1):
        counts = np.convolve(counts, np.ones(size)) / size
    inversions = (n * (n - 1) // 2 - abs(s)) // 2
    return s, min(1.0, 2 * float(counts[: inversions + 1].sum()))


def _normal_p(s: int, n: int, ties: npt.NDArray[np.int64]) -> float:
    variance = (n * (n - 1) * (2 * n + 5) - int((ties * (ties - 1) * (2 * ties + 5)).sum())) / 18
    if variance <= 0 or s == 0:
        return 1.0
    return math.erfc((abs(s) - 1) / math.sqrt(variance) / math.sqrt(2))
