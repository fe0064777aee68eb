"""What a paper is about: one wish that is open, one thing that came, and bars said without figures."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from keysense.comparing.characters import WISHES
from keysense.finding import Finding, Place
from keysense.papers.lesson import Lesson, Played
from keysense.words import has_word, word
from keysense.words.choosing import one_to_try, outcome_of
from keysense.words.figures import place_words
from keysense.words.heard import held_over
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
    """One open wish. key: which words speak of it; trying: it as a question; place: its bars, empty without any.

    piece: the title of the tune it is for, empty where it is for any.
    """

    key: str
    trying: str
    place: Place = field(default_factory=Place)
    character: str = ""
    piece: str = ""


def open_aim(lesson: Lesson) -> Aim:
    """The one wish of a lesson, the same on every page and paper.

    What was pressed last; else what is open between two characters; else what is open on the page, newest take first;
    else what the pupil likes.
    """
    for aim in _aims(lesson) if lesson.asked else ():
        if aim.trying == lesson.asked:
            return aim
    return next(_of_pair(lesson), None) or next(_on_the_page(lesson), None) or Aim("nothing", word("try.nothing"))


def _of_pair(lesson: Lesson) -> Iterator[Aim]:
    if lesson.pair is not None and lesson.pair.trying is not None:
        at, wish = lesson.pair.trying
        yield _of_character(wish, lesson.pair.names[at], lesson.pair.piece)


def _on_the_page(lesson: Lesson) -> Iterator[Aim]:
    for played in told_last_first(lesson.played):
        finding = one_to_try(played.findings)
        if finding is not None:
            yield aim_of(finding, played.piece)


def _aims(lesson: Lesson) -> Iterator[Aim]:
    """Every wish that a page of this lesson may have offered."""
    for played in told_last_first(lesson.played):
        yield from (aim_of(finding, played.piece) for finding in played.findings if which(finding) != "nothing")
        if played.character:
            yield from (
                _of_character(wish, played.character, played.piece) for both in WISHES.values() for wish in both
            )


def _of_character(wish: str, character: str, piece: str) -> Aim:
    return Aim(wish, say_wish(wish, character), character=character, piece=piece)


def aim_of(finding: Finding, piece: str = "") -> Aim:
    """The wish behind a finding that was asked and not heard yet, or behind a place where the tune waited."""
    place = finding.places[0] if finding.name == "waits" and finding.places else finding.place
    return Aim("over" if held_over(finding) else which(finding), say_try(finding), Place(place.bars), piece=piece)


def which(finding: Finding) -> str:
    """Which of the things one asks for on a page this finding answers."""
    falls = finding.limit is not None and finding.limit.side == "max"
    if finding.name == "rise":
        return "fall" if falls else "rise"
    if finding.name == "hold_ratio":
        return "short" if falls else "long"
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
    """The tune never waited and never went back, from its first bar to its last."""
    counts = {finding.name: finding.value for finding in played.findings if finding.name in ("waits", "goings_back")}
    return played.to_the_end and counts.get("waits") == 0 and not counts.get("goings_back")


def came_on_the_page(played: Played) -> Finding | None:
    """The first thing asked on the page that was heard."""
    return next((f for f in played.findings if outcome_of(f) == "asked and heard"), None)
