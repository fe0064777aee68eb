"""One finding over the weeks: a dot a week with its interval, and from five weeks on a word.

Conventions
    Weeks are ISO weeks of the dates given (the studio's own time zone). A week's figure is the median of its cold
    takes: the first playing of each day, since later ones of a day are warm. The word goes by the wish, never by the
    sign of the figure; without a wish there is no trend word. A change of piano breaks the line, unless both pianos
    are known by a survey: then weeks on the other one have a wider interval. A piano heard on one day only (a
    concert) gives a dot and no trend point.

Findings
    Trend: exact two-sided Mann-Kendall over the weekly medians (normal law with tie correction where weeks tie, or
    beyond 60 weeks), Theil-Sen slope a week. Words: "nearer the wish" ("more even" where evenness was wished),
    "further from the wish", "about as before", "now here, now there" (the weeks differ by more than their own
    intervals allow), "can't tell yet" below five weeks.
    Beside it the error of one take from takes of the same day, the smallest change between two weeks that is more
    than error, and the control limits of the weeks (`keysense.comparing.error`).
    A word is wrong by chance once in twenty looks: of lines of nothing that are looked at anew in each of 30 weeks a
    third shows a trend at some time (simulated). One word is no news; one that stays is.

References
    Mann 1945, Kendall 1975 (memory). Check (computed): [10 12 11 14 15 13 16 18]: S 22, exact p .00551, slope 1.0
    (.5; 2.0). A perfect rise of four weeks has p = .083, hence five.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt

from keysense.comparing.error import Control, TakeError, control_limits, error_of_days, median_share
from keysense.comparing.trend_words import DIRECTION, TrendWord, trend_word
from keysense.errors import CharacterError, FigureError
from keysense.findings.ranks import median_of, theil_sen
from keysense.findings.stats import t_quantile
from keysense.findings.trend import mann_kendall
from keysense.practice import Practice, read_practice

__all__ = ["Week", "WeekLine", "WeekPoint", "weeks"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class WeekPoint:
    """One take's figure on one day; takes of one day stand in the order played.

    value, low, high: finite; a take of which nothing could be told is no point. Raises FigureError on any other.
    instrument: where it changes between weeks the line breaks. surveyed: that piano's touch is known, and the figure is
    on the scale that all surveyed pianos share.
    """

    when: date
    value: float
    low: float | None = None
    high: float | None = None
    instrument: str = ""
    surveyed: bool = False

    def __post_init__(self) -> None:
        if not all(math.isfinite(number) for number in (self.value, self.low, self.high) if number is not None):
            raise FigureError(
                f"the figure of {self.when} is {self.value} with the range {self.low} to {self.high}: "
                "leave out a take of which nothing could be told"
            )


@dataclass(frozen=True)
class Week:
    """One ISO week: the median of its takes, its interval where one can be had, how many takes count.

    judged: it is a point of the trend, not a dot alone.
    """

    year: int
    week: int
    value: float
    low: float | None
    high: float | None
    n: int
    instrument: str = ""
    judged: bool = True


@dataclass(frozen=True)
class WeekLine:
    """The weeks and what may be said of them. p and slope (a week) are None below the fewest weeks for a word.

    error: of one take. smallest_change: between two weeks of as many takes as these have; None where the error is not
    known. control: of the judged weeks, None below the fewest weeks for a word.
    """

    weeks: tuple[Week, ...]
    word: TrendWord | None
    p: float | None = None
    slope: float | None = None
    low: float | None = None
    high: float | None = None
    why: str = ""
    error: TakeError | None = None
    smallest_change: float | None = None
    control: Control | None = None


def weeks(
    points: Sequence[WeekPoint], wish: str | None = None, *, practice: Practice | None = None, cold: bool = True
) -> WeekLine:
    """The weeks of one finding and the word they allow.

    wish: a wish of a character ("even", "joined", ...), or "lower" or "higher" of the figure itself, or None. cold:
    only the first take of each day counts for its week; the others tell of the error. Raises CharacterError on a wish
    that is none of these.
    """
    if wish is not None and wish not in DIRECTION:
        raise CharacterError(f"a trend cannot be judged by the wish {wish!r}; wishes are {', '.join(DIRECTION)}")
    table = practice or read_practice()
    played = sorted(points, key=lambda point: point.when)
    error = _error(played, int(table.value("error_takes")))
    pianos = _on_pianos(played)
    found = _by_week(_first_of_day(played) if cold else played, error, pianos, table.value("other_piano"))
    judged = _one_a_week([week for week in found if week.judged], pianos)
    takes = round(float(np.median([week.n for week in judged]))) if judged else 1
    known = (error, error.smallest_change(takes, medians=True))
    fewest = int(table.value("trend_weeks"))
    if len(judged) < fewest:
        word: TrendWord | None = None if wish is None else "can't tell yet"
        return WeekLine(found, word, None, None, None, None, _too_few(len(judged), fewest), *known)
    values = np.array([week.value for week in judged])
    s, p = mann_kendall(values)
    slope = theil_sen(np.array([_monday(week).toordinal() / 7 for week in judged]), values)
    word = None if wish is None else trend_word(s, p, wish, _spans(judged), error, table.value("false_claims"))
    return WeekLine(found, word, p, slope.value, slope.low, slope.high, "", *known, control_limits(values))


def _spans(judged: Sequence[Week]) -> list[tuple[float, float, float]]:
    """Value, low and high of the weeks whose interval has a width."""
    return [(week.value, week.low, week.high) for week in judged
            if week.low is not None and week.high is not None and week.high > week.low]  # fmt: skip


def _monday(week: Week) -> date:
    return date.fromisocalendar(week.year, week.week, 1)


def _error(played: Sequence[WeekPoint], fewest: int) -> TakeError:
    """The error of one take, from takes of one day on one piano."""
    days: dict[tuple[date, str], list[float]] = {}
    for point in played:
        days.setdefault((point.when, point.instrument), []).append(point.value)
    return error_of_days(list(days.values()), fewest=fewest)


def _first_of_day(played: Sequence[WeekPoint]) -> list[WeekPoint]:
    first: dict[tuple[date, str], WeekPoint] = {}
    for point in played:
        first.setdefault((point.when, point.instrument), point)
    return list(first.values())


def _on_pianos(played: Sequence[WeekPoint]) -> tuple[str, ...]:
    """The pianos whose weeks make one line: the usual one first, then those known by a survey where it is too."""
    days: dict[str, set[date]] = {}
    for point in played:
        days.setdefault(point.instrument, set()).add(point.when)
    if not played:
        return ()
    home = next((p.instrument for p in reversed(played) if len(days[p.instrument]) > 1), played[-1].instrument)
    surveyed = dict.fromkeys(point.instrument for point in played if point.surveyed)
    return (home, *(name for name in surveyed if name != home)) if home in surveyed else (home,)


def _one_a_week(judged: Sequence[Week], pianos: Sequence[str]) -> list[Week]:
    """The usual piano's week, where two pianos were played in one; else that of the piano known first."""
    by_week: dict[tuple[int, int], Week] = {}
    for week in judged:
        before = by_week.get((week.year, week.week))
        if before is None or pianos.index(week.instrument) < pianos.index(before.instrument):
            by_week[week.year, week.week] = week
    return list(by_week.values())


def _too_few(n: int, fewest: int) -> str:
    return f"no trend can be told from fewer than {fewest} weeks on one piano, and {n} came"


def _by_week(
    played: Sequence[WeekPoint], error: TakeError, pianos: tuple[str, ...], widened: float
) -> tuple[Week, ...]:
    gathered: dict[tuple[int, int, str], list[WeekPoint]] = {}
    for point in played:
        year, week, _ = point.when.isocalendar()
        gathered.setdefault((year, week, point.instrument), []).append(point)
    return tuple(
        _week(*key, taken, error, judged=key[2] in pianos, wider=widened if key[2] in pianos[1:] else 1.0)
        for key, taken in gathered.items()
    )


def _week(
    year: int, week: int, instrument: str, taken: list[WeekPoint], error: TakeError, *, judged: bool, wider: float
) -> Week:
    values = np.array([point.value for point in taken])
    middle = float(np.median(values))
    low, high = _interval(middle, values, taken, error)
    if low is not None and high is not None:
        low, high = middle - wider * (middle - low), middle + wider * (high - middle)
    return Week(year, week, middle, low, high, len(taken), instrument, judged)


def _interval(
    middle: float, values: Floats, taken: list[WeekPoint], error: TakeError
) -> tuple[float | None, float | None]:
    """From the takes' own scatter where there are six; below, from the error of a take where it is known, else from
    their own intervals, narrowed by their number."""
    if len(taken) >= 6:
        _, low, high = median_of(values).whole()
        return low, high
    narrower = median_share(len(taken))
    if error.sem is not None:
        half = t_quantile(error.df) * error.sem * narrower
        return middle - half, middle + half
    own = [(point.value - point.low, point.high - point.value) for point in taken
           if point.low is not None and point.high is not None]  # fmt: skip
    if len(own) < len(taken):
        return None, None
    below, above = np.mean(own, axis=0) * narrower
    return middle - float(below), middle + float(above)
