"""The first words of each paper, from what was kept. Words only: no raw figure, no comparison with anybody.

They are made to be changed: a teacher edits and signs, and nothing here speaks in her name before that.
"""

from __future__ import annotations

from collections.abc import Iterable

from keysense.finding import Finding, Place
from keysense.papers.aims import (
    came_on_the_page,
    open_aim,
    spelled_place,
    told_last_first,
    trying_without_figures,
    went_on,
    which,
)
from keysense.papers.lesson import Lesson, Pair, Played
from keysense.papers.lint import LIMITS
from keysense.studio.rows import PaperKind
from keysense.words import has_word, say_asked_to_child, word
from keysense.words.choosing import outcome_of, told
from keysense.words.figures import listed, place_words

__all__ = ["draft", "pictured"]

_MOST_PIECES = 3
_SOMEWHERE = ("free", "breath")  # a wish for one place of the tune, which a page has not named


def draft(kind: PaperKind, lesson: Lesson) -> dict[str, str]:
    """The draft of a paper, part by part; parts about which nothing is known are empty."""
    if not lesson.played:
        return {"note": _empty_note(), "slip": {}, "card": {}}[kind]
    return {"note": _note, "slip": _slip, "card": _card}[kind](lesson)


def pictured(lesson: Lesson) -> str:
    """The id of the take whose shape stands on the papers: of the tune that the wish is for, where something came.

    Empty where nothing was heard.
    """
    piece = open_aim(lesson).piece
    heard = [one for one in told_last_first(lesson.played) if one.findings and piece in ("", one.piece)]
    if lesson.pair is not None and lesson.pair.came and piece in ("", lesson.pair.piece):
        return lesson.pair.takes[0]
    came = next((one for one in heard if came_on_the_page(one)), None)
    first = came or next(iter(heard), None) or next(iter(lesson.played), None)
    return "" if first is None else first.take_id


# the note to the family


def _empty_note() -> dict[str, str]:
    return {"made": "", "listened": "", "home": "", "says": ""}


def _note(lesson: Lesson) -> dict[str, str]:
    parts = {
        "made": _made(lesson),
        "listened": _listened(lesson),
        "home": _home(lesson),
        "says": list(lesson.said[-1:]),
    }
    while sum(len(said.split()) for rows in parts.values() for said in rows) > LIMITS["note"]:
        longest = max(parts.values(), key=len)
        if len(longest) < 2:
            break
        longest.pop()
    return {part: " ".join(rows) for part, rows in parts.items()}


def _made(lesson: Lesson) -> list[str]:
    pupil, titles = _short(lesson.pupil, 4), _titles(lesson)
    said = []
    if titles and _characters(lesson, titles[0]):
        said.append(_in_characters(lesson, pupil, titles[0]))
        others = _counted_up(titles[1:])
    elif titles:
        first, *others = _counted_up(titles)
        said.append(word("paper.note.played", pupil=pupil, piece=_short(first)))
    else:
        others = []
    if others:
        more = [word("paper.note.more")] if len(others) >= _MOST_PIECES else []
        named = [_short(title) for title in others[: _MOST_PIECES - 1]]
        said.append(word("paper.note.also", pieces=listed([*named, *more])))
    if any(one.manner == "own" for one in lesson.played):
        said.append(word("paper.note.own", pupil=pupil))
    return said


def _counted_up(titles: list[str]) -> list[str]:
    """Titles that differ in their last number alone are said as one: ``Three Doors 1, 2 and 3``."""
    numbers: dict[str, list[int]] = {}
    for title in titles:
        numbers.setdefault(_stem(title), []).extend(_last_number(title))
    counted = {stem: f"{stem} {listed([str(one) for one in sorted(set(n))])}" for stem, n in numbers.items()}
    rows = (counted[_stem(title)] if len(numbers[_stem(title)]) > 1 else title for title in titles)
    return list(dict.fromkeys(rows))


def _stem(title: str) -> str:
    return title.rsplit(" ", 1)[0] if _last_number(title) else title


def _last_number(title: str) -> list[int]:
    """The number at the end of a title, if there is one."""
    before, _, last = title.rpartition(" ")
    return [int(last)] if before and last.isascii() and last.isdecimal() and len(last) < 5 else []


def _titles(lesson: Lesson) -> list[str]:
    """The tunes of the lesson: that of the two characters first, then as they came, warm-ups last."""
    first = [lesson.pair.piece] if lesson.pair else []
    rest = sorted((one for one in lesson.played if one.manner != "own"), key=lambda one: one.is_warmup)
    return list(dict.fromkeys(title for title in (*first, *(one.piece for one in rest)) if title))


def _characters(lesson: Lesson, title: str) -> list[str]:
    words = [one.character for one in lesson.played if one.piece == title and one.character]
    return [_short(character, 3) for character in dict.fromkeys(words)]


def _in_characters(lesson: Lesson, pupil: str, title: str) -> str:
    characters, slots = _characters(lesson, title), {"pupil": pupil, "piece": _short(title)}
    if len(characters) == 1:
        return word("paper.note.played.one", character=characters[0], **slots)
    which_words = "two" if len(characters) == 2 else "more"
    return word(f"paper.note.played.{which_words}", characters=listed(characters[:4]), **slots)


def _listened(lesson: Lesson) -> list[str]:
    said = [_pair_said(lesson.pair, "paper.note.pair")] if lesson.pair and lesson.pair.came else []
    played = list(told_last_first(lesson.played))
    asked = [finding for one in played for finding in told(one.findings).asked if finding.place.bars]
    seen: set[tuple[str, tuple[int, int] | None]] = set()
    for finding in sorted(asked, key=_came_first):  # what came in one take was heard, whatever the others did
        key = (which(finding), finding.place.bars)
        said += [] if key in seen else [_asked(finding)]
        seen.add(key)
    breaths = [f for one in played for f in one.findings if f.name == "breath" and f.value and f.places]
    said = [*said[:2], *(_breathed(finding) for finding in breaths[:1]), *said[2:]]
    if not said and any(went_on(one) for one in played):
        said = [word("paper.note.went_on")]
    return said[:3] or [word("paper.note.listened")]


def _came_first(finding: Finding) -> int:
    outcomes = ("asked and heard", "asked, not yet heard", "asked, the other way came")
    outcome = outcome_of(finding)
    return outcomes.index(outcome) if outcome in outcomes else len(outcomes)


def _asked(finding: Finding) -> str:
    """What was asked on the page and whether it came; what came the other way is told as not yet heard."""
    place, asked = place_words(Place(finding.place.bars)), which(finding)
    outcome = {"asked and heard": f"came.{asked}", "can't tell yet": "unsure"}.get(outcome_of(finding) or "", "open")
    return word(f"paper.note.whether.{asked}", place=place) + " " + word(f"paper.note.{outcome}")


def _breathed(finding: Finding) -> str:
    return word("paper.note.breath", place=place_words(Place(finding.places[0].bars)))


def _home(lesson: Lesson) -> list[str]:
    titles, aim = _titles(lesson), open_aim(lesson)
    said = []
    if lesson.pair:
        first, second = (_short(name, 3) for name in lesson.pair.names)
        said.append(word("paper.note.hear.both", first=first, second=second))
    elif titles:
        shown = next((one.piece for one in lesson.played if one.take_id == pictured(lesson)), "")
        said.append(word("paper.note.hear", piece=_short(aim.piece or shown or titles[0])))
    if aim.key != "nothing":
        said.append(aim.trying)
    return said


# the home slip


def _slip(lesson: Lesson) -> dict[str, str]:
    aim = open_aim(lesson)
    where = spelled_place(aim.place)
    question = f"paper.question.{aim.key}"
    return {
        "wish": word(f"paper.wish.{aim.key}", character=_short(aim.character, 3)),
        "place": _place(where, aim.piece or next(iter(_titles(lesson)), ""), to_choose=aim.key in _SOMEWHERE),
        "way": word(f"paper.way.{aim.key}"),
        "question": word(question if has_word(question) else "paper.question.other"),
    }


def _place(where: str, piece: str, *, to_choose: bool) -> str:
    """Where it is in which tune: a family has more than one open on the piano. A wish for somewhere gets one."""
    if not where and to_choose:
        return word("paper.place.choose.of" if piece else "paper.place.choose", piece=_short(piece))
    if not piece:
        return word("paper.place", place=where) if where else ""
    return word("paper.place.of" if where else "paper.place.piece", place=where, piece=_short(piece))


# the child's card


def _card(lesson: Lesson) -> dict[str, str]:
    shown = next(one for one in lesson.played if one.take_id == pictured(lesson))
    aim = open_aim(lesson)
    asked = word("paper.card.most", character=_short(shown.character, 3)) if shown.character else ""
    return {
        "came": _came(lesson, shown),
        "question": asked or word("paper.card.where"),
        "try": trying_without_figures(aim),
    }


def _came(lesson: Lesson, shown: Played) -> str:
    """Something that came: asked on the page and heard, else between two characters, else what any tune has."""
    came = came_on_the_page(shown)
    if came is not None:
        return say_asked_to_child(came)
    if lesson.pair is not None and lesson.pair.came:
        return _pair_said(lesson.pair, "paper.card.pair")
    breathed = any(finding.name == "breath" and finding.value for finding in shown.findings)
    if breathed:
        return word("child.breath")
    return word("child.none.waits" if went_on(shown) else "paper.card.listened")


def _pair_said(pair: Pair, key: str) -> str:
    came = pair.came[:1] if key == "paper.card.pair" else pair.came[:3]
    first, second = (_short(name, 3) for name in pair.names)
    return word(key, first=first, second=second, how=listed(_how(came)))


def _how(wishes: Iterable[str]) -> list[str]:
    return [word(f"paper.than.{wish}") for wish in wishes]


def _short(name: str, most: int = 8) -> str:
    """A name, cut where it is so long that the paper would hold nothing else."""
    words = name.split()
    return name if len(words) <= most else " ".join(words[:most]) + "…"
