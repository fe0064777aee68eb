"""The demo told at the terminal, in plain words, while it happens."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from keysense.comparing import weeks
from keysense.demo.room import (
    Played,
    begin_today,
    furnish,
    little_sister,
    play_in_the_bell,
    play_last_week,
    play_today,
    play_weeks,
)
from keysense.demo.story import WARMUP, WEEKS
from keysense.findings import Reading
from keysense.studio import Studio
from keysense.studio.looking import beside
from keysense.words import counted, say_for_teacher, say_lost
from keysense.words.choosing import told
from keysense.words.comparing import dimension_lead, say_dimension

__all__ = ["tell"]


def tell(studio: Studio, say: Callable[[str], None]) -> tuple[str, str]:
    """Furnish the studio and play every lesson through it; gives the ids of the sleepy and the proud take."""
    say("The Tallow Bridge Music Room, an invented studio. All you see is played, heard and kept this minute.")
    say(f"\nJuno plays her warm-up, {WEEKS} weeks long ...")
    furnish(studio)
    juno = play_weeks(studio)
    for line in _weeks(studio, juno):
        say(line)
    say("\nA lesson last week.")
    for one in play_last_week(studio):
        for line in _heard(studio, one):
            say(line)
    today = begin_today(studio)
    say("\nToday. First the teacher plays Ferry Bell in herself, twice: there is no score of it.")
    play_in_the_bell(studio, today)
    played = []
    for one in play_today(studio, today):
        played.append(one)
        for line in _heard(studio, one):
            say(line)
    little_sister(studio, today)
    say("\nPip’s little sister bangs the keys. That is no tune, and she has no agreement: it is not kept.")
    pair = played[0].take_id, played[1].take_id
    for line in _side_by_side(studio, pair):
        say(line)
    return pair


def _heard(studio: Studio, one: Played) -> Iterator[str]:
    yield f"\n{one.scene.told}"
    yield f"    typed: {one.scene.says}"
    if "cut" in studio.take(one.take_id).flags:
        yield "    The piano went away while it lasted; what came before is kept, and listening goes on."
    yield from (f"    {line}" for line in _sentences(one.reading))


def _sentences(reading: Reading) -> list[str]:
    if reading.following.lost:
        return [say_lost(reading.why_lost, reading.lost_after_bar)]
    first = told(reading.findings)
    return [say_for_teacher(finding) for finding in (*first.asked, *first.place, *first.moved)]


def _weeks(studio: Studio, pupil_id: str) -> Iterator[str]:
    warm_up = studio.find_piece(WARMUP)
    line = weeks(studio.weeks_of(pupil_id, warm_up.id, "evenness_timing", "R"), "even")
    for week in line.weeks:
        if week.value is not None:
            takes = counted("n.takes", week.n)
            yield f"    week {week.week}: the steps spread by {week.value:.1f} in a hundred ({takes})"
    yield f"    Over the weeks: {line.word}." if line.word else f"    {line.why}"


def _side_by_side(studio: Studio, pair: tuple[str, str]) -> Iterator[str]:
    names = tuple(studio.take(take_id).character for take_id in pair)
    yield f"\nThe cat, {names[0]} and {names[1]}, side by side:"
    for dimension in beside(studio, *pair).dimensions:
        outcome = f" ({dimension.outcome})" if dimension.outcome else ""
        yield f"    {dimension_lead(dimension)}{outcome}: {say_dimension(dimension, (names[0], names[1]))}"
