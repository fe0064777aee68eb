"""The first minute on the lesson's page: step by step, each ticking itself; and the demo studio one press away."""

from __future__ import annotations

from keysense.dashboards._lesson import warmup_panel
from keysense.dashboards._teaching import teaching

from keysense.capture.state import ListeningState
from keysense.page import Panel
from keysense.studio.first import first_steps
from keysense.studio.studio import Studio
from keysense.words import word

__all__ = ["demo_panel", "first_minute"]


def first_minute(studio: Studio) -> Panel | None:
    """What is still to be done in a new studio; None where nothing is."""
    said = _true_now(studio)
    steps = first_steps(studio, said)
    if steps is None:
        return None
    rows = [{"name": name, "state": state, "said": said.get(name, "")} for name, state in steps.items()]
    teach = teaching(studio).content | {"short": True}
    asks = ["bring"] if steps["tune"] in ("now", "ahead") else []
    leave = bool(studio.pupils())  # before that the press stands at the foot of the page
    content = {"asks": asks, "steps": rows, "teach": teach, "warmup": warmup_panel(studio).content, "leave": leave}
    return Panel("first", word("first.name"), content)


def _true_now(studio: Studio) -> dict[str, str]:
    """The steps that can be seen to be done, each with what is said of it."""
    said = {}
    listener = ListeningState(studio.folder.journal).now()
    if listener.listening:
        said["plug"] = word("first.plugged", piano=listener.piano) if listener.piano else ""
    if studio.takes(limit=1):
        said["note"] = word("first.heard")
    if pupils := studio.pupils():
        said["who"] = word("first.who.there", pupil=pupils[0].nickname)
    if music := studio.likely_pieces():
        said["tune"] = word("first.tune.there", piece=studio.piece(music[0]).title)
    if warmups := studio.warmups():
        said["warmup"] = word("first.warmup.there", piece=warmups[0].title)
    return said


def demo_panel(studio: Studio) -> Panel:
    """The demo studio: opened by one press, removed by another."""
    return Panel("demo", word("first.looking"), {"there": studio.folder.demo.exists()})
