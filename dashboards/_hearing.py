"""Where takes can be heard again: one alone, or two, each also at the other's pace."""

from __future__ import annotations

from typing import Any

from keysense.dashboards._names import NamedTake

from keysense.page import Panel
from keysense.targets.target import Target
from keysense.words import word

__all__ = ["hear_again", "to_pass_on"]


def hear_again(
    named: list[NamedTake],
    names: tuple[str, ...] = ("",),
    target: Target | None = None,
    *,
    again: dict[str, Any] | None = None,
    shape: str | None = None,
    draw: dict[str, Any] | None = None,
    coats: bool = True,
) -> Panel:
    """The presses; with the music, from which bar and which hand.

    In the same row: again, to play it again; shape, the take whose shape is shown alone; draw, where the next line is
    drawn. coats: whether two are heard at the other's pace, too.
    """
    takes = [{"id": one.take.id, "name": name} for one, name in zip(named, names, strict=True)]
    bars = [] if target is None else list(dict.fromkeys(target.bars["number"].tolist()))
    hands = target is not None and target.hands == ("R", "L")
    content = {"takes": takes, "names": names, "bars": bars, "hands": hands, "coats": coats}
    content |= {"again": again, "shape": shape, "draw": draw}
    return Panel("hear", word("hear.name" if takes else "hear.next"), content)


def to_pass_on(named: NamedTake) -> Panel:
    """The take as a sound file, for the teacher to pass on."""
    links = [{"href": f"/take/{named.take.id}/sound.mp3", "said": word("hear.pass.link")}]
    return Panel("pass", word("hear.pass"), {"said": word("hear.pass.said"), "links": links}, for_teacher=True)
