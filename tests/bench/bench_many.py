"""Many takes: how often chance is called something, what is found, and how long a year takes.

``python tests/bench/bench_many.py [seeds]`` prints the figures; nothing is asserted.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np

sys.path.append(str(Path(__file__).resolve().parents[2]))

from fixtures.make.many import Piano, Reader, caught_takes, on_piano, random_card, read_card, survey_take
from fixtures.make.music import five_fingers, millers_cat
from fixtures.make.player import Planted, play
from keysense.comparing import WeekPoint, compare, weeks
from keysense.comparing.error import error_of_days
from keysense.comparing.sight import first_sight
from keysense.comparing.spots import spots
from keysense.findings import look
from keysense.findings.heard import Heard
from keysense.practice import read_practice
from keysense.smf import take_to_smf
from keysense.survey import hear_survey, moved, on_touch_scale

MONDAY = date(2024, 1, 8)


def trends(seeds: int) -> None:
    print(f"{'weeks of noise (days differ as much as takes do)':58} {'a trend':>9}   ({seeds} seeds)")
    for n in (5, 8, 12, 40):
        called = 0
        for seed in range(seeds):
            rng = np.random.default_rng(seed)
            day = rng.normal(10, 2, n)
            played = [WeekPoint(MONDAY + timedelta(weeks=k), day[k] + rng.normal(0, 2)) for k in range(n) for _ in "ab"]
            called += weeks(played, "even").word in ("more even", "further from the wish")
        print(f"{f'{n} weeks':58} {100 * called / seeds:8.1f}%")
    print(f"\n{'error of a take from 6 days of 3 takes':58} {'held':>9}")
    held = 0
    for seed in range(seeds):
        rng = np.random.default_rng(seed)
        error = error_of_days(rng.normal(rng.normal(0, 5, (6, 1)), 2.0, (6, 3)).tolist())
        held += error.low is not None and error.high is not None and error.low <= 2 <= error.high
    print(f"{'95 % interval':58} {100 * held / seeds:8.1f}%")


def lists(seeds: int) -> None:
    target = five_fingers(4).target()
    print(
        f"\n{'spots: 32 places caught at 4 %, one at 60 %':46} {'false list':>10} {'found':>7}   rule alone, computed"
    )
    for takes, computed in ((5, "1.9 / 68 %"), (8, "0.5 / 83 %"), (12, "3.1 / 98 %")):
        found = [spots(caught_takes(takes, seed=s, spots={20: 0.6}), target).spots for s in range(seeds)]
        false = np.mean([any(spot.quarter != 20 for spot in listed) for listed in found])
        true = np.mean([any(spot.quarter == 20 for spot in listed) for listed in found])
        print(f"{f'{takes} takes':46} {100 * false:9.1f}% {100 * true:6.1f}%   {computed}")
    for rate in (0.1, 0.2, 0.3):
        false = np.mean([bool(spots(caught_takes(8, seed=s, rate=rate), target).spots) for s in range(seeds)])
        print(f"{f'8 takes caught everywhere at {100 * rate:.0f} %':46} {100 * false:9.1f}%")


def cards(reader: Reader, seed: int, number: int) -> list[Heard]:
    practice, takes = read_practice(), []
    for k in range(number):
        played = read_card(random_card(28, 100 * seed + k), reader, 1000 * seed + k)
        takes.append(Heard(played.take(), played.music.target(), played.following(), practice))
    return takes


def sight(seeds: int) -> None:
    print(f"\n{'first sight: pauses 25 % longer at changes':46} {'found':>10} {'of noise':>9}   expected   ({seeds})")
    expected = {0.2: ("53", "83", "100"), 0.35: ("32", "45", "72")}
    for noise, name in ((0.2, "calm"), (0.35, "halting")):
        for number, (notes, wanted) in zip((1, 2, 4), zip((24, 48, 96), expected[noise], strict=True), strict=True):
            pages = [first_sight(cards(Reader(noise, {"change": 1.25}), s, number)) for s in range(seeds)]
            told = [page.one("pattern_change") for page in pages]
            found = np.mean([one is not None and one.word == "waited" for one in told])
            null = [first_sight(cards(Reader(noise), 10_000 + s, number)) for s in range(seeds)]
            false = np.mean([any(one.word == "waited" for one in page.classes) for page in null])
            print(f"{f'{name} reader, {notes} notes':46} {100 * found:9.0f}% {100 * false:8.1f}%   {wanted} %")


def pianos(seeds: int) -> None:
    print(f"\n{'surveys':58}")
    apart = [moved(hear_survey(survey_take(Piano(), 2 * s)), hear_survey(survey_take(Piano(), 2 * s + 1)))
             for s in range(seeds)]  # fmt: skip
    print(f"{'soft, middle, loud again within 3 steps':58} {100 - 100 * np.mean([len(a) for a in apart]) / 3:8.1f}%")
    plans = (Planted(ioi_noise=0.06, touch_noise=6, loudness=44), Planted(ioi_noise=0.06, touch_noise=6, loudness=84))
    for name, known in (("numbers as sent", False), ("touch of known pianos", True)):
        same = [words(plans, 0.6, s, known) == words(plans, 1.6, s, known) for s in range(seeds // 4)]
        print(f"{f'two characters told alike at curves .6 and 1.6: {name}':58} {100 * np.mean(same):8.1f}%")
        differ = [one_difference(plans, s, known) for s in range(seeds // 4)]
        print(f"{'   the difference of loudness differs by, median':58} {np.median(differ):8.1f} steps")


def _pair(plans: tuple[Planted, Planted], gamma: float, seed: int, known: bool) -> tuple[object, ...]:
    music, piano, readings = millers_cat(), Piano(gamma=gamma), []
    for k, plan in enumerate(plans):
        played = play(music, plan, 2 * seed + k)
        take = on_piano(played, piano)
        if known:
            curve = hear_survey(survey_take(piano, seed)).curve
            assert curve is not None
            take = on_touch_scale(take, curve)
        readings.append(look(take, music.target(), following=played.following()))
    return compare(*readings).dimensions


def words(plans: tuple[Planted, Planted], gamma: float, seed: int, known: bool) -> list[object]:
    return [dimension.outcome for dimension in _pair(plans, gamma, seed, known)]  # type: ignore[attr-defined]


def one_difference(plans: tuple[Planted, Planted], seed: int, known: bool) -> float:
    one, other = (_pair(plans, gamma, seed, known)[1].difference.value for gamma in (0.6, 1.6))  # type: ignore[attr-defined]
    return abs(one - other)


def a_year() -> None:
    """400 takes of one pupil: forty lessons, ten takes each."""
    print()
    rng = np.random.default_rng(1)
    days = [MONDAY + timedelta(weeks=k // 10) for k in range(400)]
    points = [
        WeekPoint(day, float(v), float(v) - 1, float(v) + 1)
        for day, v in zip(days, rng.normal(10, 2, 400), strict=True)
    ]
    takes, target = caught_takes(400, seed=1), five_fingers(4).target()
    names = ("tempo", "drift", "evenness", "loudness", "contrast", "hands", "touch", "breath", "pedal", "voicing")
    timed("ten findings of 400 takes over the weeks", lambda: [weeks(points, "even") for _ in names])
    timed("spots of 400 takes", lambda: spots(takes, target))
    many = [caught_takes(12, seed=s) for s in range(35)]
    timed("spots of a piece, 35 pupils of 12 takes", lambda: [spots(one, target) for one in many])
    pool = cards(Reader(), 1, 4)
    timed("first sight of 4 cards", lambda: first_sight(pool))
    survey = survey_take(Piano(), 1)
    timed("a survey", lambda: hear_survey(survey))


def a_kept_year() -> None:
    """The same from a studio: 400 takes of four tunes kept and looked at, then everything said of many takes."""
    from keysense.studio import Studio
    from keysense.studio.between import manners_of, overnights
    from keysense.studio.looking import catch_up
    from keysense.studio.many import sight_of, spots_of

    with tempfile.TemporaryDirectory() as folder, Studio.open(Path(folder) / "studio") as studio:
        pip = studio.add_pupil("Pip", agreed_by="a guardian", on="2024-01-01").id
        pieces = [studio.add_piece(f"Tune {k}").id for k in range(4)]
        for piece in pieces:
            studio.add_target(piece, millers_cat().target())
        for k in range(400):
            take = play(millers_cat(), Planted(ioi_noise=0.06, touch_noise=6), k).take()
            when = datetime(2024, 1, 8, 15, tzinfo=UTC) + timedelta(weeks=k // 10, minutes=k % 10)
            take_id = studio.add_take(take, take_to_smf(take), started_utc=when)
            manner = ("first sight", "by ear", "from the page")[k // 10 % 3]
            studio.name_take(take_id, pupil=pip, piece=pieces[k % 4], character="sleepy", manner=manner)
        start = time.perf_counter()
        catch_up(studio, pupil_id=pip)
        print(f"{'400 takes of 26 notes looked at, once':58} {time.perf_counter() - start:8.1f} s")
        names = ("tempo", "drift", "evenness_timing", "evenness_loudness", "waits", "breath", "hold_ratio", "rise")

        def compared() -> None:
            for piece in pieces:
                for name in names:
                    weeks(studio.weeks_of(pip, piece, name, "R"), None)
                    weeks(studio.weeks_of(pip, piece, name), None)
                spots_of(studio, pip, piece)
            overnights(studio, pip)
            manners_of(studio, pip)
            sight_of(studio, pip)

        timed("a year kept: weeks, spots, lessons, manners, first sight", compared)


def timed(name: str, work: Callable[[], object]) -> None:
    spent = []
    for _ in range(7):
        start = time.process_time()
        work()
        spent.append(time.process_time() - start)
    print(f"{name:58} {1000 * statistics.median(spent):8.1f} ms CPU (median of 7)")


def main(seeds: int = 400) -> None:
    trends(5 * seeds)
    lists(5 * seeds)
    sight(seeds // 2)
    pianos(seeds)
    a_year()
    a_kept_year()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 400)
