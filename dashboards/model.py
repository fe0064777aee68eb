"""Did it take the shape of the playing it was learnt from? Two pictures, one question; phrases for the teacher."""

from __future__ import annotations

from keysense.dashboards._before import bounds_of
from keysense.dashboards._hearing import hear_again
from keysense.dashboards._names import name_takes

from keysense.page import Page, Panel
from keysense.studio.between import BesideModel, beside_model
from keysense.studio.looking import look_at
from keysense.studio.rows import StoredTake
from keysense.studio.studio import Studio
from keysense.words import word
from keysense.words.between import say_model_to_child, say_shapes

__all__ = ["QUESTION", "page"]

QUESTION = "Did it take the shape of the playing it was learnt from?"


def page(studio: Studio, ref: str) -> Page:
    """A take beside the teacher's own playing. Raises UnknownName, and StudioError where there is no such playing."""
    both = beside_model(studio, ref)
    model, own = name_takes(studio, [both.model, both.take])
    names = (
        word("model.mine"),
        own.take.character or (word("model.theirs", pupil=own.pupil) if own.pupil else own.piece),
    )
    target = studio.target_of(both.take.piece_id or "").target
    panels = [
        hear_again([model, own], names, target),
        *_pictures(studio, both, names),
        Panel("say", "", {"said": say_model_to_child(both.phrases), "aloud": True}),
        Panel("text", word("model.name"), {"said": [*say_shapes(both.phrases), word("model.caution")]},
              for_teacher=True),
    ]  # fmt: skip
    above = ", ".join(part for part in (own.pupil, own.take.character, own.when) if part)
    return Page(QUESTION, word("model.title", piece=own.piece), above, panels)


def _pictures(studio: Studio, both: BesideModel, names: tuple[str, str]) -> list[Panel]:
    """Each playing's loudness between the softest and the loudest of its own piano, where it has a shape to see."""
    return [
        Panel("coat", name, content)
        for take, name, cls in ((both.model, names[0], "c"), (both.take, names[1], ""))
        if (content := _picture(studio, take, name, cls))
    ]


def _picture(studio: Studio, take: StoredTake, name: str, cls: str) -> dict[str, object]:
    reading = look_at(studio, take.id)
    if not reading.contours:
        return {}
    own = {"pupil": "", "character": "", "word": "", "wish": "", "take": take.id}
    bounds = bounds_of(studio, take.instrument)
    return {"reading": reading, "name": name, "cls": cls, "marks": (), "bounds": bounds, "own": own}
