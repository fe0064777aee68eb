"""One finding over the weeks: medians, intervals, and a word only when the weeks allow one."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
import scipy.stats

from keysense.comparing import WeekPoint, weeks
from keysense.comparing.weeks import mann_kendall
from keysense.errors import CharacterError, FigureError, KeysenseError

MONDAY = date(2024, 1, 8)


def points(values, spread: float | None = 1.0, **more) -> list[WeekPoint]:
    return [
        WeekPoint(MONDAY + timedelta(weeks=k), value, *((value - spread, value + spread) if spread else ()), **more)
        for k, value in enumerate(values)
    ]


def test_ten_weeks_of_a_warm_up_growing_more_even() -> None:
    line = weeks(points([14, 13.5, 12.8, 13.1, 12, 11.6, 11.9, 10.8, 10.2, 9.9]), "even")
    assert line.word == "more even"
    assert line.p < 0.001
    assert line.low < line.slope < line.high < 0
    assert len(line.weeks) == 10
    assert (line.weeks[0].year, line.weeks[0].week) == (2024, 2)


@pytest.mark.parametrize("wish", ["even", "free", "louder", "lower", None])
def test_no_word_of_trend_before_five_weeks(wish: str | None) -> None:
    line = weeks(points([4, 3, 2, 1]), wish)
    assert line.word == (None if wish is None else "can't tell yet")
    assert line.p is None
    assert "fewer than 5" in line.why


@pytest.mark.parametrize(("wish", "word"), [
    ("louder", "nearer the wish"), ("softer", "further from the wish"), ("even", "further from the wish"),
    ("higher", "nearer the wish"), ("lower", "further from the wish"), (None, None),
])  # fmt: skip
def test_the_word_goes_by_the_wish_and_never_by_the_sign(wish: str | None, word: str | None) -> None:
    assert weeks(points([1, 2, 3, 4, 5, 6, 7]), wish).word == word


def test_no_trend_is_about_as_before_or_now_here_now_there() -> None:
    values = [5, 5.4, 4.8, 5.2, 4.9, 5.1, 5.3]
    assert weeks(points(values, 1.0), "even").word == "about as before"
    assert weeks(points([5, 9, 3, 8, 4, 9, 5], 0.5), "even").word == "now here, now there"
    assert weeks(points([5, 9, 3, 8, 4, 9, 5], None), "even").word == "about as before"


def test_now_here_now_there_is_seldom_said_of_nothing_where_the_error_is_known_from_few_takes() -> None:
    said = []
    for seed in range(200):
        rng = np.random.default_rng(seed)
        played = [MONDAY + timedelta(weeks=k) for k in (*range(20), *range(5))]  # five days have a second take
        said.append(weeks([WeekPoint(day, float(rng.normal(20, 2))) for day in played], "even").word)
    assert said.count("now here, now there") <= 19  # of 5 % in 200, more than 19 in fewer than one of two hundred


def test_a_week_is_the_median_of_its_takes_and_more_takes_narrow_it() -> None:
    day = [WeekPoint(MONDAY + timedelta(days=k), v, v - 2, v + 2) for k, v in enumerate((10, 11, 15))]
    (week,) = weeks(day, "even").weeks
    assert (week.value, week.n) == (11, 3)
    assert 0 < week.high - week.low < 4
    many = [WeekPoint(MONDAY, float(v)) for v in range(8)]
    (wide,) = weeks(many, "even").weeks
    assert wide.low <= wide.value <= wide.high


def test_sunday_and_monday_are_two_weeks_and_new_year_keeps_its_iso_week() -> None:
    line = weeks([WeekPoint(date(2024, 12, 29), 1.0), WeekPoint(date(2024, 12, 30), 2.0)], None)
    assert [(week.year, week.week) for week in line.weeks] == [(2024, 52), (2025, 1)]


def test_another_piano_breaks_the_line() -> None:
    old, new = points([9, 8, 7, 6, 5], instrument="old"), points([14, 13, 12], instrument="new")
    shifted = [WeekPoint(point.when + timedelta(weeks=5), point.value, instrument="new") for point in new]
    line = weeks(old + shifted, "even")
    assert len(line.weeks) == 8
    assert line.word == "can't tell yet"
    assert "3 came" in line.why


def test_an_unknown_wish_is_refused() -> None:
    with pytest.raises(CharacterError, match=r"shinier.*even"):
        weeks(points([1, 2]), "shinier")


@pytest.mark.parametrize(
    "figures", [(float("nan"),), (float("inf"),), (1.0, float("nan"), 2.0), (1.0, 0.0, -float("inf"))]
)
def test_a_figure_that_is_no_number_is_refused_with_its_day(figures: tuple[float, ...]) -> None:
    with pytest.raises(FigureError, match=r"2024-01-08.*leave out"):
        WeekPoint(MONDAY, *figures)
    assert issubclass(FigureError, KeysenseError)


@pytest.mark.parametrize("takes", [3, 4, 6])
def test_the_smallest_change_is_of_medians_as_the_weeks_are(takes: int) -> None:
    """Two weeks of takes that differ by nothing lie further apart than it in at most 5 of 100 pairs (planted error)."""
    rng = np.random.default_rng(takes)
    played = [WeekPoint(MONDAY + timedelta(weeks=k), v) for k in range(300) for v in rng.normal(10, 2, takes)]
    line = weeks(played, cold=False)
    assert line.error.sem == pytest.approx(2, rel=0.05)
    medians = np.array([week.value for week in line.weeks])
    apart = np.abs(medians[::2] - medians[1::2])
    assert 0.005 <= np.mean(apart > line.smallest_change) <= 0.07
    as_of_means = line.error.smallest_change(takes)
    assert line.smallest_change / as_of_means == pytest.approx((np.pi / 2) ** 0.5)


def test_nothing_yet_is_nothing_told() -> None:
    line = weeks([], "even")
    assert line.weeks == ()
    assert line.word == "can't tell yet"


@pytest.mark.parametrize("n", [5, 8, 12])
def test_noise_over_the_weeks_is_called_a_trend_at_most_as_often_as_allowed(n: int) -> None:
    rng = np.random.default_rng(n)
    claims = [mann_kendall(rng.normal(0, 1, n))[1] <= 0.05 for _ in range(2000)]
    assert np.mean(claims) <= 0.06


@pytest.mark.parametrize("n", [5, 7, 10])
def test_the_exact_p_is_scipys(n: int) -> None:
    rng = np.random.default_rng(n)
    for _ in range(20):
        values = rng.normal(0, 1, n)
        s, p = mann_kendall(values)
        theirs = scipy.stats.kendalltau(np.arange(n), values, method="exact")
        assert s == round(theirs.statistic * n * (n - 1) / 2)
        assert p == pytest.approx(theirs.pvalue)


def test_the_check_values_of_a_rise() -> None:
    line = weeks(points([10, 12, 11, 14, 15, 13, 16, 18]), "higher")  # C
    assert mann_kendall(np.array([10, 12, 11, 14, 15, 13, 16, 18.0])) == (22, pytest.approx(0.00551, abs=1e-5))
    assert (line.slope, line.low, line.high) == pytest.approx((1.0, 0.5, 2.0))
    assert line.word == "nearer the wish"
    assert mann_kendall(np.array([1.0, 2, 3, 4]))[1] == pytest.approx(0.083, abs=0.001)


def test_the_slope_is_scipys() -> None:
    values = [10, 12, 11, 14, 15, 13, 16, 18]
    line = weeks(points(values), "higher")
    assert line.slope == pytest.approx(scipy.stats.theilslopes(values, np.arange(8)).slope)


def test_only_the_first_playing_of_a_day_counts_and_the_others_tell_of_the_error() -> None:
    rng = np.random.default_rng(1)
    played = [
        WeekPoint(MONDAY + timedelta(weeks=k), 20 - k - 6 * warm + rng.normal(0, 1))
        for k in range(8)
        for warm in (0, 1)
    ]
    line = weeks(played, "even")
    assert [week.n for week in line.weeks] == [1] * 8
    assert line.weeks[0].value > 18  # warm takes, 6 lower, are left out
    assert line.error.sem is not None and line.error.df == 8
    assert line.smallest_change == pytest.approx(1.96 * 2**0.5 * line.error.sem)
    assert all(week.low < week.value < week.high for week in line.weeks)
    both = weeks(played, "even", cold=False)
    assert both.smallest_change == pytest.approx(line.smallest_change / 2**0.5)
    assert [week.n for week in both.weeks] == [2] * 8


def test_without_repeated_takes_the_error_says_why_it_is_not_known() -> None:
    line = weeks(points([5, 4, 5, 4, 5]), "even")
    assert line.smallest_change is None
    assert "repeated on the same day" in line.error.why
    assert line.control is not None


def test_a_concert_piano_gives_a_dot_and_no_trend_point() -> None:
    home = points([9, 8, 7, 6, 5], instrument="home")
    hall = WeekPoint(MONDAY + timedelta(weeks=5), 14.0, instrument="hall")
    line = weeks([*home, hall], "even")
    assert line.word == "more even"
    assert [week.judged for week in line.weeks] == [True] * 5 + [False]


def test_two_surveyed_pianos_make_one_line_with_wider_weeks_on_the_other() -> None:
    old = points([9, 8, 7], instrument="old", surveyed=True)
    new = [
        WeekPoint(MONDAY + timedelta(weeks=k), 9.0 - k, 8.0 - k, 10.0 - k, "new", surveyed=True) for k in range(3, 6)
    ]
    line = weeks(old + new, "even")
    assert line.word == "more even"
    assert line.weeks[0].high - line.weeks[0].low == pytest.approx(3.0)
    assert line.weeks[-1].high - line.weeks[-1].low == pytest.approx(2.0)
    unsurveyed = [WeekPoint(p.when, p.value, instrument="new") for p in new]
    assert weeks(old + unsurveyed, "even").word == "can't tell yet"


@pytest.mark.parametrize("n", [5, 10, 30])
def test_noise_gets_a_word_of_trend_at_most_once_in_twenty(n: int) -> None:
    """Two takes a day, days that differ for real as much as takes do, and a wish: the whole way to the word."""
    rng = np.random.default_rng(100 + n)
    trends = 0
    for _ in range(600):
        day = rng.normal(10, 2, n)
        played = [WeekPoint(MONDAY + timedelta(weeks=k), day[k] + rng.normal(0, 2)) for k in range(n) for _ in (0, 1)]
        trends += weeks(played, "even").word in ("more even", "further from the wish")
    assert trends / 600 <= 0.05 + 2 * (0.05 * 0.95 / 600) ** 0.5


def test_where_two_known_pianos_were_played_in_a_week_it_is_always_the_same_one_that_counts() -> None:
    known = {"surveyed": True}
    school = [WeekPoint(MONDAY + timedelta(weeks=k, days=d), 50.0, instrument="school", **known)
              for k in range(6) for d in (1, 2)]  # fmt: skip
    home = [WeekPoint(MONDAY + timedelta(weeks=k, days=4), 10.0 + k, instrument="home", **known) for k in range(6)]
    assert weeks([*school, *home], "higher").word == "nearer the wish"
