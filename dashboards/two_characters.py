"""Do the two differ, in what, and was that asked? Two takes of one tune side by side on one scale."""

from __future__ import annotations

from contextlib import suppress

from keysense.dashboards._before import bounds_of
from keysense.dashboards._hearing import hear_again
from keysense.dashboards._meaning import meaning, outcomes
from keysense.dashboards._names import NamedTake, asked_marks, name_takes
from keysense.dashboards._share import draw_link, own_word, two_ears

from keysense.comparing import Comparison
from keysense.errors import StudioError
from keysense.finding import Finding
from keysense.findings.reading import Reading
from keysense.page import Later, Page, Panel
from keysense.papers.pressed import Pressed, pressed
from keysense.studio.looking import beside
from keysense.studio.rows import StoredTake
from keysense.studio.studio import Studio
from keysense.words import counted, word
from keysense.words.choosing import outcome_of
from keysense.words.comparing import dimension_to_try, louder, say_guess

__all__ = ["QUESTION", "latest", "page"]

ANSWERS = ("first", "second", "alike")
QUESTION = "Do the two differ, in what, and was that asked?"


def page(studio: Studio, first: str, second: str, *, guess: str = "") -> Page:
    """The page of two takes, the first above the second. guess: which the child heard louder, ``skip``, or nothing yet.

    Raises UnknownName on a take that is not there, StudioError on takes of two tunes or of a tune without its music.
    """
    named = name_takes(studio, [studio.take(first), studio.take(second)])
    names = _names(named)
    title = word("beside.title", first=names[0], second=names[1])
    above = ", ".join(part for part in (named[0].piece, named[0].pupil, named[0].when) if part)
    return Page(QUESTION, title, above, Later(lambda: _panels(studio, named, names, guess)))


def _panels(studio: Studio, named: list[NamedTake], names: tuple[str, str], guess: str) -> list[Panel]:
    comparison = beside(studio, named[0].take.id, named[1].take.id)
    coats = [_coat(studio, *one, comparison) for one in zip(named, names, (comparison.a, comparison.b), strict=True)]
    if guess not in ANSWERS:
        guess = studio.guessed(named[0].take.id, "louder", beside=named[1].take.id) or guess
    return [
        *_for_everyone(comparison, named, names, coats, guess),
        *(_one_wish(studio, comparison, named, names) if guess else ()),
        meaning("two", "take", "character", "wish", "fold"),
        *_for_teacher(comparison, names),
    ]


def _coat(studio: Studio, named: NamedTake, name: str, reading: Reading, comparison: Comparison) -> Panel:
    """One take's picture, between the softest and the loudest of its piano, with the pupil's own word for it."""
    content = {
        "reading": reading, "name": name, "cls": "" if reading is comparison.a else "b",
        "marks": asked_marks(studio, named.take.character, comparison.a.target),
        "bounds": bounds_of(studio, named.take.instrument), "own": own_word(studio, named),
    }  # fmt: skip
    return Panel("coat", name, content)


def latest(studio: Studio) -> tuple[str, str] | None:
    """The ids of the newest take and of the newest of the same pupil and tune in another character, older first."""
    kept = [take for take in studio.takes(state="kept", limit=60) if take.piece_id and take.character]
    for row, newer in enumerate(kept):
        for older in kept[row + 1 :]:
            same = older.piece_id == newer.piece_id and older.pupil_id == newer.pupil_id
            if same and older.character != newer.character:
                return older.id, newer.id
    return None


def _names(named: list[NamedTake]) -> tuple[str, str]:
    """Each by its character; by its place in the pair where the two go by one word or by none."""
    first, second = named[0].take.character, named[1].take.character
    if first and second and first != second:
        return first, second
    return word("beside.first"), word("beside.second")


def _for_everyone(
    comparison: Comparison, named: list[NamedTake], names: tuple[str, str], coats: list[Panel], guess: str
) -> list[Panel]:
    """Ears first: which was louder? Then both pictures on one scale, how long each took, one thing to try."""
    hear = hear_again(named, names, comparison.a.target, coats=bool(guess))
    if not guess:
        answers = dict(zip(ANSWERS, (*names, word("pair.ask.alike")), strict=True))
        question = {"question": word("pair.ask"), "answers": answers, "press": word("pair.open")}
        question["to"] = f"/beside/{named[0].take.id[:12]}/{named[1].take.id[:12]}/guess"
        return [hear, Panel("ask", word("ask.ears"), question)]
    panels = [hear]
    if guess in ANSWERS:
        panels.append(_guessed(comparison, guess, names))
    both = {
        "takes": (comparison.a.take, comparison.b.take), "readings": (comparison.a, comparison.b), "names": names,
    }  # fmt: skip
    panels += [
        *coats,
        Panel("bothkey", content={"paper": _said_of_paper(coats)}),
        Panel("lengths", word("beside.lengths"), both),
    ]
    return panels


def _one_wish(studio: Studio, comparison: Comparison, named: list[NamedTake], names: tuple[str, str]) -> list[Panel]:
    """What was pressed last in this lesson for this tune, until it came; else what is open between the two."""
    newest = max((one.take for one in named), key=lambda take: take.started_utc)
    wish = pressed(studio, newest.pupil_id, newest.started_utc.astimezone(studio.settings.zone).date())
    asked = next((take for take in _takes_of(studio, wish) if take.piece_id == newest.piece_id), None)
    trying = dimension_to_try(comparison, names)
    if wish is not None and asked is not None:
        take, said = asked, wish.said
    elif trying is not None:
        take, said = named[trying[0]].take, trying[1]
    else:
        return []
    again = Panel("again", word("wish.name"), {"take": take.id, "said": said, "press": word("press.again")})
    return [again, *draw_link(next((one for one in named if one.take.id == take.id), named[1]))]


def _takes_of(studio: Studio, wish: Pressed | None) -> list[StoredTake]:
    """The take that a wish was pressed on, if it is still there."""
    with suppress(StudioError):
        return [studio.take(wish.take_id)] if wish is not None and wish.take_id else []
    return []


def _guessed(comparison: Comparison, guess: str, names: tuple[str, str]) -> Panel:
    """The guess said back; where the ear and keysense differ, both are drawn."""
    heard = louder(comparison)
    content = {"said": say_guess(comparison, guess, names), "pictures": two_ears(guess, heard), "names": names}
    return Panel("guessed", word("ask.ears"), content)


def _for_teacher(comparison: Comparison, names: tuple[str, str]) -> list[Panel]:
    name = word("beside.name", first=names[0], second=names[1])
    rows = comparison.dimensions
    panel = Panel("dimensions", name, {"dimensions": rows, "names": names}, for_teacher=True)
    said = {row.outcome for row in rows} | {outcome_of(finding) for finding in _rises(comparison.a, comparison.b)}
    terms = (*(row.name for row in rows), "phrase", "spindle", "likely")
    return [*_together(comparison, names), panel, *_papers(comparison, names), *outcomes(said, *terms)]


def _together(comparison: Comparison, names: tuple[str, str]) -> list[Panel]:
    """Of a short piece: how many playings of the day the figures are the mean of."""
    said = [counted("beside.together", n, name=name) for n, name in zip(comparison.takes, names, strict=True) if n > 1]
    return [Panel("text", word("beside.together.name"), {"said": said}, for_teacher=True)] if said else []


def _papers(comparison: Comparison, names: tuple[str, str]) -> list[Panel]:
    """What came of each paper that lies under the two pictures: whatever is asked there has its outcome words."""
    groups = [
        {"name": name, "findings": _rises(reading)}
        for name, reading in zip(names, (comparison.a, comparison.b), strict=True)
    ]
    groups = [group for group in groups if group["findings"]]
    return [Panel("papers", word("beside.papers"), {"groups": groups}, for_teacher=True)] if groups else []


def _rises(*readings: Reading) -> tuple[Finding, ...]:
    found = (finding for reading in readings for finding in reading.named("rise"))
    return tuple(finding for finding in found if outcome_of(finding) is not None)


def _said_of_paper(coats: list[Panel]) -> str:
    """The key of what is said of the paper: that of the page is asked of both, that of a character of one alone."""
    layers = {
        mark.layer for coat in coats for mark in coat.content["marks"] if mark.kind in ("crescendo", "diminuendo")
    }
    return "shape.key" if not layers else "beside.paper.page" if layers == {""} else "beside.paper"
