"""What a paper is about: one wish that is open, one thing that came, and bars said without figures."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from keysense.finding import Finding, Place
from keysense.papers.lesson import Lesson, Played
from keysense.words import has_word, word
from keysense.words.choosing import one_to_try, outcome_of
from keysense.words.figures import place_words
from keysense.words.trying import say_try, say_wish

__all__ = [
    "Aim",
    "aim_of",
    "came_on_the_page",
    "open_aim",
    "spelled",
    "spelled_place",
    "told_last_first",
    "trying_without_figures",
    "went_on",
    "which",
]


@dataclass(frozen=True)
class Aim:
    """One open wish. key: which words speak of it; trying: it as a question; place: its bars, empty without any."""

    key: str
    trying: str
    place: Place = field(default_factory=Place)
    character: str = ""


def open_aim(lesson: Lesson) -> Aim:
    """What is open: between two characters first, then on the page, newest take first; else what the pupil likes.

    What nobody can tell yet comes after what was surely not heard.
    """
    pair = _of_pair(lesson)
    if pair is not None and lesson.pair is not None and lesson.pair.is_sure:
        return pair
    for played in told_last_first(lesson.played):
        finding = one_to_try(played.findings)
        if finding is not None:
            return aim_of(finding)
    return pair or Aim("nothing", word("try.nothing"))


def _of_pair(lesson: Lesson) -> Aim | None:
    if lesson.pair is None or lesson.pair.trying is None:
        return None
    at, wish = lesson.pair.trying
    return Aim(wish, say_wish(wish, lesson.pair.names[at]), character=lesson.pair.names[at])


def aim_of(finding: Finding) -> Aim:
    """The wish behind a finding that was asked and not heard yet, or behind a place where the tune waited."""
    place = finding.places[0] if finding.name == "waits" and finding.places else finding.place
    return Aim(which(finding), say_try(finding), Place(place.bars))


def which(finding: Finding) -> str:
    """Which of the things one asks for on a page this finding answers."""
    falls = finding.limit is not None and finding.limit.side == "max"
    if finding.name == "rise":
        return "fall" if falls else "rise"
    if finding.name == "hold_ratio":
        return "short" if falls else "overlap"
    return {"overlap_ratio": "overlap", "loudness_contrast": "contrast", "waits": "waits"}.get(finding.name, "nothing")


def told_last_first(played: Sequence[Played]) -> Iterator[Played]:
    """Tunes before warm-ups, the newest first."""
    newest_first = played[::-1]
    yield from sorted(newest_first, key=lambda one: one.is_warmup)


def spelled_place(place: Place) -> str:
    """``bars five and six``; bars beyond those we have words for are the place that was marked; empty without bars."""
    if place.bars is None:
        return ""
    return spelled(place_words(Place(place.bars))) or word("paper.marked")


def spelled(said: str) -> str:
    """The same sentence with its figures in words; empty where one of them has no word."""
    figures = re.findall(r"\d+", said)
    if not all(has_word(f"number.{figure}") for figure in figures):
        return ""
    return re.sub(r"\d+", lambda found: word(f"number.{found[0]}"), said)


def trying_without_figures(aim: Aim) -> str:
    """The question of an aim for a child: bars in words."""
    return spelled(aim.trying) or word("try.nothing")


def went_on(played: Played) -> bool:
    """The tune never waited, from its first bar to its last."""
    return played.to_the_end and any(finding.name == "waits" and finding.value == 0 for finding in played.findings)


def came_on_the_page(played: Played) -> Finding | None:
    """The first thing asked on the page that was heard."""
    return next((f for f in played.findings if outcome_of(f) == "asked and heard"), None)
