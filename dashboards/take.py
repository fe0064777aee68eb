"""How did this take go? One take: the music and a question for the child, what was heard for the teacher."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from keysense.dashboards._aloud import aloud, answered, level_panel, presses
from keysense.dashboards._before import bounds_of, reading_before
from keysense.dashboards._cutting import asked_of, cut_panel
from keysense.dashboards._hearing import hear_again, to_pass_on
from keysense.dashboards._meaning import meaning, outcomes
from keysense.dashboards._names import NamedTake, asked_marks, name_takes
from keysense.dashboards._share import (
    guessed,
    remarks_for_all,
    remarks_for_teacher,
    wished_panel,
)
from keysense.dashboards._wish import wish_of

from keysense.errors import StudioError, TargetError
from keysense.findings.reading import Reading
from keysense.page import Later, Page, Panel
from keysense.practice import read_practice
from keysense.studio.between import model_of
from keysense.studio.looking import look_at
from keysense.studio.rows import StoredTake
from keysense.studio.studio import Studio
from keysense.targets.target import Mark
from keysense.tempo_words import read_tempo_words
from keysense.words import has_word, say_all_for_teacher, say_lost, say_shift, say_ties, word
from keysense.words.choosing import one_for_child, outcome_of, told
from keysense.words.many import say_tempo_words

__all__ = ["QUESTION", "page", "replaced"]

QUESTION = "How did this take go?"

HEARD_WHERE = ("middle", "end", "same")


def page(studio: Studio, ref: str, *, guess: str = "") -> Page:
    """One take's page. guess: where the child heard it grow, ``skip``, or nothing yet.

    Raises UnknownName on a take that is not there.
    """
    named = name_takes(studio, [studio.take(ref)])[0]
    return Page(QUESTION, named.title, named.above, Later(lambda: _panels(studio, named, guess)))


def _panels(studio: Studio, named: NamedTake, guess: str) -> list[Panel]:
    try:
        reading = look_at(studio, named.take.id)
    except (StudioError, TargetError) as cause:
        panels = _without_music(studio, named, str(cause))
    else:
        panels = _lost(studio, named, reading) if reading.following.lost else _heard(studio, named, reading, guess)
    first = [*asked_of(studio, named.take.id), *_nameless(named)]
    return [*first, *panels, *_after(named), cut_panel(studio, named)]


def replaced(studio: Studio, take: StoredTake) -> Page:
    """A take that was split or joined: where to find what was made of it."""
    made = [studio.take(take_id) for take_id in studio.replaced_by(take.id)]
    links = [{"href": f"/take/{one.id[:12]}", "said": word("cut.replaced.link")} for one in made]
    panels = [Panel("links", word("cut.name"), {"said": word("cut.replaced"), "links": links})]
    named = name_takes(studio, [take])[0]
    return Page(QUESTION, named.title, named.above, panels)


def _heard(studio: Studio, named: NamedTake, reading: Reading, guess: str) -> list[Panel]:
    marks = asked_marks(studio, named.take.character, reading.target)
    behind = {"before": reading_before(studio, named.take.id), "bounds": bounds_of(studio, named.take.instrument)}
    guess = _guess_of(studio, named, guess)
    if _asks(reading, marks, guess):
        panels = _ears_first(named, reading, marks)
    else:
        panels = _opened(studio, named, reading, marks, guess, behind)
        panels.append(Panel("music", "", _shown(named, reading, marks, behind)))
    panels.append(meaning("take", "character", "shape", "wish", "fold"))
    return [*panels, *_for_teacher(studio, named, reading), *remarks_for_teacher(studio, named)]


def _guess_of(studio: Studio, named: NamedTake, guess: str) -> str:
    """What was guessed before, where nothing is now; ``skip`` where this lesson was asked about this tune already."""
    if guess in HEARD_WHERE:
        return guess
    return studio.guessed(named.take.id, "grow") or guess or ("skip" if studio.asked_today(named.take, "grow") else "")


def _asks(reading: Reading, marks: tuple[Mark, ...], guess: str) -> bool:
    return not guess and bool(reading.contours) and any(mark.kind == "crescendo" for mark in marks)


def _after(named: NamedTake) -> list[Panel]:
    """What does not hang on what was heard; a take that is kept may be passed on as sound."""
    out = [to_pass_on(named)] if named.take.state == "kept" else []
    return [*_came_in(named), *_own(named), *out]


def _nameless(named: NamedTake) -> list[Panel]:
    """A take without a piece is asked for its name first."""
    return [] if named.piece else [Panel("naming", word("naming.name"), {"named": named})]


def _own(named: NamedTake) -> list[Panel]:
    """A take of nobody may be the teacher's own, and become the music of a piece."""
    if named.take.state == "kept":
        return []
    return [Panel("playin", word("playin.name"), {"take": named.take.id}, for_teacher=True)]


def _came_in(named: NamedTake) -> list[Panel]:
    """What went on while it was played: a cable out, a key stuck, the touch switched off."""
    said = [word(f"flag.{flag}") for flag in named.take.flags if has_word(f"flag.{flag}")]
    return [Panel("text", word("flag.name"), {"said": said}, for_teacher=True)] if said else []


def _shown(
    named: NamedTake, reading: Reading, marks: tuple[Mark, ...], behind: dict[str, Any], *, guessing: bool = False
) -> dict[str, Any]:
    title = named.piece or reading.target.source.title
    character = named.take.character
    shown = {"reading": reading, "marks": marks, "title": title, "character": character, "guessing": guessing}
    return {**shown, "take": named.take.id, **behind}


def _ears_first(named: NamedTake, reading: Reading, marks: tuple[Mark, ...]) -> list[Panel]:
    """Ears first where the tune was asked to grow: hear it, say where, and only then the picture."""
    answers = {where: word(f"ask.grow.{where}") for where in HEARD_WHERE}
    question = {
        "question": word("ask.grow"), "answers": answers, "press": word("ask.open"),
        "to": f"/take/{named.take.id[:12]}/guess",
    }  # fmt: skip
    music = Panel("music", "", _shown(named, reading, marks, {}, guessing=True))
    return [hear_again([named], target=reading.target), Panel("ask", word("ask.ears"), question), music]


def _opened(
    studio: Studio, named: NamedTake, reading: Reading, marks: tuple[Mark, ...], guess: str, behind: dict[str, Any]
) -> list[Panel]:
    """The shape, one thing heard, one to try; a line drawn before playing lies behind the shape."""
    wished, panels = studio.drawn_wish(named.take), []
    differ = False
    if guess in HEARD_WHERE:
        said_back = guessed(reading, guess)
        differ = bool(said_back.content["pictures"])
        panels.append(said_back)
    panels += [hear_again([named], target=reading.target)] if differ else []  # where ears differ, both listen again
    panels += [_shape(reading, {**_shown(named, reading, marks, behind), "wished": wished}), *level_panel(reading)]
    if wished is not None:
        practice = read_practice(studio.folder.own_practice)
        panels.append(wished_panel(reading, wished, f"/take/{named.take.id[:12]}", behind["bounds"], practice))
    one = one_for_child(reading.findings)
    if wished is None:  # under a drawn line stands what came of that line
        panels.append(aloud(named, one, answered(studio, named, reading, behind["before"])))
    panels += remarks_for_all(studio, named) if one is None else []  # a question has its room to answer under it
    panels += presses(named, reading, wish_of(studio, named, reading), heard_above=differ)
    return [*panels, *([] if one is None else remarks_for_all(studio, named))]


def _shape(reading: Reading, shown: dict[str, Any]) -> Panel:
    """The shape, or the thread where the piano sends one loudness only and there is no shape to see."""
    if reading.contours:
        return Panel("shape", word("shape.name"), shown)
    drawing = {"take": reading.take, "said": word("drawing.said", title=shown["title"])}
    return Panel("drawing", word("drawing.name"), drawing)


def _for_teacher(studio: Studio, named: NamedTake, reading: Reading) -> list[Panel]:
    chosen, character = told(reading.findings), named.take.character
    name = word("found.asked_character", character=character) if character else word("found.asked")
    panels = [
        Panel("findings", name, {"findings": chosen.asked}, for_teacher=True),
        Panel("findings", word("found.place"), {"findings": chosen.place}, for_teacher=True),
        Panel("findings", word("found.moved"), {"findings": chosen.moved}, for_teacher=True),
    ]
    said = say_all_for_teacher(chosen.more)
    more = Panel("more", word("found.more"), {"said": said, "table": reading.findings}, for_teacher=True)
    panels = [panel for panel in panels if panel.content["findings"]]
    panels += outcomes((outcome_of(finding) for finding in chosen.asked), "spindle", "likely", "phrase")
    where = [*say_shift(reading.following), *say_ties(reading.following)]
    if where:
        panels.append(Panel("text", word("found.shift"), {"said": where}, for_teacher=True))
    panels += _pace_words(studio, reading)
    if not named.piece:
        return [*panels, more]
    naming = Panel("naming", word("naming.rename"), {"named": named}, for_teacher=True)
    return [*panels, more, *_many(studio, named), naming]


def _pace_words(studio: Studio, reading: Reading) -> list[Panel]:
    """What musicians call such a pace."""
    tempo = reading.one("tempo")
    table = read_tempo_words(studio.folder.tempo_words)
    said = [] if tempo is None or tempo.value is None else say_tempo_words(tempo.value, table)
    return [Panel("text", word("tempo.words.name"), {"said": said}, for_teacher=True)] if said else []


def _many(studio: Studio, named: NamedTake) -> list[Panel]:
    """Where to see this take beside others: of its piece, of the day before, and the one it was learnt from."""
    take = named.take
    if take.is_model or not take.pupil_id or not take.piece_id:
        return []
    links = [
        {"href": f"/spots/{take.pupil_id}/{take.piece_id}", "said": word("spots.link")},
        {"href": f"/overnight/{take.pupil_id}", "said": word("overnight.link")},
        {"href": f"/piece/{take.piece_id}/mark?{urlencode({'for': take.character})}", "said": word("piece.mark.link")},
    ]
    if model_of(studio, take) is not None:
        links.append({"href": f"/model/{take.id[:12]}", "said": word("model.link")})
    return [Panel("pass", word("spots.many"), {"said": "", "links": links}, for_teacher=True)]


def _lost(studio: Studio, named: NamedTake, reading: Reading) -> list[Panel]:
    drawing = {"take": reading.take, "said": word("drawing.said", title=named.title)}
    return [
        Panel("drawing", word("drawing.name"), drawing),
        hear_again([named]),
        aloud(named, None),
        *remarks_for_all(studio, named),
        Panel(
            "text",
            word("found.place"),
            {"said": [say_lost(reading.why_lost, reading.lost_after_bar), word("following.lost.next")]},
            for_teacher=True,
        ),
        Panel("naming", word("naming.rename"), {"named": named}, for_teacher=True),
    ]


def _without_music(studio: Studio, named: NamedTake, why: str) -> list[Panel]:
    drawing = {"take": studio.take_notes(named.take.id), "said": word("drawing.said", title=named.title)}
    return [
        Panel("drawing", word("drawing.name"), drawing),
        hear_again([named]),
        aloud(named, None),
        *remarks_for_all(studio, named),
        Panel("text", word("drawing.why"), {"said": [word("drawing.no_music"), why]}, for_teacher=True),
    ]
