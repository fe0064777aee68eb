"""What shape did it have? The loudness picture large enough for a room, and nothing else."""

from __future__ import annotations

from keysense.dashboards._aloud import aloud, level_panel
from keysense.dashboards._before import bounds_of, reading_before
from keysense.dashboards._hearing import hear_again
from keysense.dashboards._names import NamedTake, asked_marks, name_takes
from keysense.dashboards._wish import again, again_plain, wish_of

from keysense.errors import StudioError, TargetError
from keysense.page import Later, Page, Panel
from keysense.studio.looking import look_at
from keysense.studio.studio import Studio
from keysense.words import word
from keysense.words.choosing import one_for_child

__all__ = ["QUESTION", "page"]

QUESTION = "What shape did it have?"


def page(studio: Studio, ref: str) -> Page:
    """The shape of one take, the old one faint behind it after a wish. Raises UnknownName on no such take."""
    named = name_takes(studio, [studio.take(ref)])[0]
    return Page(QUESTION, named.title, named.above, Later(lambda: _panels(studio, named)))


def _panels(studio: Studio, named: NamedTake) -> list[Panel]:
    links = [{"href": "/", "said": word("shape.back")}]
    back = Panel("links", "", {"said": "", "links": links})
    try:
        reading = look_at(studio, named.take.id)
    except (StudioError, TargetError):
        reading = None
    if reading is None or reading.following.lost or not reading.contours:
        drawing = {"take": studio.take_notes(named.take.id), "said": word("drawing.said", title=named.title)}
        why = [] if reading is None else level_panel(reading)
        shown = [Panel("drawing", word("drawing.name"), drawing), *why]
        return [*shown, hear_again([named], again=again_plain(named.take.id)), back]
    title = named.piece or reading.target.source.title
    content = {
        "reading": reading,
        "marks": asked_marks(studio, named.take.character, reading.target),
        "title": title,
        "character": named.take.character,
        "before": reading_before(studio, named.take.id),
        "bounds": bounds_of(studio, named.take.instrument),
        "wished": studio.drawn_wish(named.take),
    }
    # under the picture of the loudness stands a sentence about the loudness, or none
    one, wish = one_for_child(reading.named("rise")), wish_of(studio, named, reading)
    said = [] if one is None or content["wished"] else [aloud(named, one)]
    return [
        Panel("shape", word("shape.name"), content),
        *said,
        *again(wish),
        hear_again([named], target=reading.target, again=None if wish["said"] else wish),
        Panel("printing", "", {"said": word("shape.print"), "links": links}),
        Panel("shapekey", "", content),
    ]
