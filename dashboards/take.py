"""How did this take go? One take: the music and a question for the child, what was heard for the teacher."""

from __future__ import annotations

from keysense.dashboards._names import NamedTake, name_takes

from keysense.errors import StudioError, TargetError
from keysense.findings.reading import Reading
from keysense.page import Page, Panel
from keysense.studio.looking import look_at
from keysense.studio.studio import Studio
from keysense.words import say_all_for_teacher, say_asked_to_child, word
from keysense.words.choosing import one_for_child, one_to_try, told
from keysense.words.trying import say_try

__all__ = ["QUESTION", "page"]

QUESTION = "How did this take go?"

HEARD_WHERE = ("middle", "end", "same")


def page(studio: Studio, ref: str, *, guess: str = "") -> Page:
    """One take's page. guess: where the child heard it grow, ``skip``, or nothing yet.

    Raises UnknownName on a take that is not there.
    """
    named = name_takes(studio, [studio.take(ref)])[0]
    try:
        reading = look_at(studio, named.take.id)
    except (StudioError, TargetError) as cause:
        return Page(QUESTION, named.title, named.above, _without_music(studio, named, str(cause)))
    if reading.following.lost:
        return Page(QUESTION, named.title, named.above, _lost(named, reading))
    return Page(
        QUESTION, named.title, named.above, [*_for_everyone(named, reading, guess), *_for_teacher(named, reading)]
    )


def _for_everyone(named: NamedTake, reading: Reading, guess: str) -> list[Panel]:
    """Ears first where the tune was asked to grow; then the shape, one thing heard, one to try; then the music."""
    shown = {"reading": reading, "title": named.piece, "character": named.take.character, "guessing": False}
    asks = any(mark.kind == "crescendo" for mark in reading.target.marks_asked(named.take.character))
    if asks and not guess:
        question = {"question": word("ask.grow"), "answers": HEARD_WHERE}
        return [Panel("ask", word("ask.ears"), question), Panel("music", "", {**shown, "guessing": True})]
    panels = []
    if guess in HEARD_WHERE:
        panels.append(Panel("say", word("ask.ears"), {"said": word(f"ask.grow.heard.{guess}")}))
    panels.append(Panel("shape", word("shape.name"), shown))
    one, trying = one_for_child(reading.findings), one_to_try(reading.findings)
    if one is not None:
        panels.append(Panel("say", "", {"said": say_asked_to_child(one), "aloud": True}))
    said = "" if trying is None else say_try(trying)
    press = word("press.again" if said else "press.again.plain")
    again = {"take": named.take.id, "said": said, "press": press}
    return [*panels, Panel("again", word("wish.name") if said else "", again), Panel("music", "", shown)]


def _for_teacher(named: NamedTake, reading: Reading) -> list[Panel]:
    chosen, character = told(reading.findings), named.take.character
    name = word("found.asked_character", character=character) if character else word("found.asked")
    panels = [
        Panel("findings", name, {"findings": chosen.asked}, for_teacher=True),
        Panel("findings", word("found.place"), {"findings": chosen.place}, for_teacher=True),
        Panel("findings", word("found.moved"), {"findings": chosen.moved}, for_teacher=True),
    ]
    said = say_all_for_teacher(chosen.more)
    more = Panel("more", word("found.more"), {"said": said, "table": reading.findings}, for_teacher=True)
    naming = Panel("naming", word("naming.name"), {"named": named}, for_teacher=True)
    return [panel for panel in panels if panel.content["findings"]] + [more, naming]


def _lost(named: NamedTake, reading: Reading) -> list[Panel]:
    drawing = {"take": reading.take, "said": word("drawing.said", title=named.title)}
    return [
        Panel("drawing", word("drawing.name"), drawing),
        Panel("say", "", {"said": word("child.other"), "aloud": True}),
        Panel(
            "text",
            word("found.place"),
            {"said": [word("following.lost"), word("following.lost.next")]},
            for_teacher=True,
        ),
        Panel("naming", word("naming.name"), {"named": named}, for_teacher=True),
    ]


def _without_music(studio: Studio, named: NamedTake, why: str) -> list[Panel]:
    drawing = {"take": studio.take_notes(named.take.id), "said": word("drawing.said", title=named.title)}
    return [
        Panel("drawing", word("drawing.name"), drawing),
        Panel("say", "", {"said": word("child.other"), "aloud": True}),
        Panel("naming", word("naming.name"), {"named": named}),
        Panel("text", word("drawing.why"), {"said": [word("drawing.no_music"), why]}, for_teacher=True),
    ]
