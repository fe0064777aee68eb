"""What the template of one place in the music is given: its line alone, with one mark under the note."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from keysense.comparing.spots import Spot
from keysense.errors import TargetError
from keysense.plots.lane import Heard, heard_lane
from keysense.plots.signs import MarkName, key_sign, plain_sign
from keysense.targets.target import Target, page_id
from keysense.words import word

__all__ = ["caught_sign", "place"]

_WIDTHS = (("wide", 1800, 4, 0.95), ("mid", 1440, 4, 0.95), ("tight", 900, 2, 1.25))
_MARKS: dict[str, MarkName] = {"waited": "wait", "left out": "gap"}
_NEAR = 1e-5  # quarters


def caught_sign(kind: str) -> Markup:
    """The mark of what came back at a place; going back has none of its own."""
    name = {**_MARKS, "another note": "another"}.get(kind)
    return Markup(key_sign(name) if name else plain_sign(known=True))  # noqa: S704 - our own drawings


def place(content: dict[str, Any]) -> list[dict[str, Any]]:
    """The line of music that holds the place, at each width; nothing where the piece has no page."""
    target: Target = content["target"]
    spot: Spot = content["spot"]
    try:
        return [_line(target, spot, content["title"], *row) for row in _WIDTHS]
    except TargetError:
        return []


def _line(target: Target, spot: Spot, title: str, cls: str, width: int, bars: int, scale: float) -> dict[str, Any]:
    from keysense.engraving import engrave

    engraving = engrave(target, width=width, bars_a_line=bars if len(target.bars) > bars else None)
    ids = {page_id(str(note["id"])): str(note["hand"]) for note in _there(target, spot)}
    system = next((one for one in engraving.systems if ids.keys() & one.note_x.keys()), engraving.systems[0])
    name = next((_MARKS[kind] for kind in _MARKS if spot.kinds.get(kind)), None)
    note = next((one for one in ids if one in system.note_x), None)
    heard = []
    if name and note:
        heard.append(Heard(name, system.note_x[note], ids[note], word(f"spots.here.{name}")))
    title_of_lane = word("spots.line", said=heard[0].title if heard else "")
    return {
        "cls": cls,
        "svg": Markup(system.svg),  # noqa: S704 - drawn by our own engraver
        "label": word("music.label", title=title, first=system.first_bar, last=system.last_bar),
        "lane": Markup(heard_lane(heard, system.width, title_of_lane, scale=scale)) if heard else "",  # noqa: S704
        "said": heard[0].title if heard else "",
    }


def _there(target: Target, spot: Spot) -> Any:
    return target.notes[abs(target.notes["onset_quarter"] - spot.quarter) < _NEAR]
