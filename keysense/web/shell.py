"""What stands round every page: the piano's state in words, the line of pages, the example of a name."""

from __future__ import annotations

from dataclasses import replace

from keysense.capture.state import Listener, ListeningState
from keysense.studio.studio import Studio
from keysense.web.render import Link, Shell, State
from keysense.words import word
from keysense.words.figures import start_large

__all__ = ["shell_for", "state_of", "state_words"]

_NO_SYSTEM = "no MIDI system answers"  # how the port begins to say it; what to start is nothing for a child's page


def shell_for(
    studio: Studio,
    name: str,
    path: str,
    *,
    has_lesson: bool,
    trouble: str = "",
    ended: bool = False,
    heard_in: Studio | None = None,
    told: int | None = None,
    **more: object,
) -> Shell:
    """The shell of one page of a studio.

    ended: the lesson of these pages was ended by trouble. heard_in: where the piano is listened to, if elsewhere.
    told: how much the pages had been told when this one was asked for.
    """
    listener = state_of(heard_in or studio, trouble)
    links = [
        Link("/", word("nav.lesson"), name == "listening"),
        Link("/beside", word("nav.beside"), name == "beside"),
        Link("/weeks", word("nav.weeks"), name == "weeks"),
        Link("/pieces", word("nav.pieces"), name in ("pieces", "piece", "mark", "character")),
        Link("/studio", word("nav.studio"), name in ("studio", "elsewhere", "kept")),
    ]
    more = {"demo": _demo_of(studio), **more}
    live = "/live" if told is None else f"/live?told={told}"
    state = "listening" if listener.listening else "cut"
    words = state_words(listener, has_lesson, ended=ended)
    return Shell(
        name, path, state, words, links, live=live, example=_example(studio), who=_who(studio),
        **more,  # type: ignore[arg-type]
    )  # fmt: skip


def _demo_of(studio: Studio) -> str:
    """Whether all of this is made up: beside a teacher's own studio, or alone."""
    kept = studio.recall("demo")
    return "" if not kept else "beside" if kept.get("beside") else "alone"


def state_of(studio: Studio, trouble: str = "") -> Listener:
    """What the listener says of itself at this moment; ``trouble`` is what ended the lesson."""
    now = ListeningState(studio.folder.journal).now()
    return replace(now, trouble=trouble or now.trouble)


def state_words(listener: Listener, has_lesson: bool, *, ended: bool = False) -> State:
    """Listening or not, in two short sentences, with the one press that changes it."""
    piano = listener.piano or word("state.piano")
    stop, start = word("state.stop"), word("state.start")
    if not has_lesson and not listener.running:
        return State(word("state.alone"), word("state.alone.more"))
    if not listener.wanted:
        return State(word("state.off"), word("state.off.more"), start, "yes")
    if listener.listening:
        return State(word("state.on"), start_large(word("state.on.more", piano=piano)), stop, "no", True, piano)
    if listener.trouble:
        press = (start, "yes") if ended else (stop, "no")  # what ended can only be begun again
        said = word("state.trouble.system") if listener.trouble.startswith(_NO_SYSTEM) else listener.trouble
        return State(word("state.trouble"), said, *press, troubled=True)
    if not listener.running:
        return State(word("state.starting"), "", stop, "no")
    if listener.piano:
        return State(word("state.gone", piano=piano), word("state.gone.more"), stop, "no")
    return State(word("state.looking"), word("state.looking.more"), stop, "no")


def _who(studio: Studio) -> str:
    """The nickname of the pupil at the piano, else of the first in the register."""
    pupils = studio.pupils()
    named = (pupil.nickname for pupil in pupils if pupil.id == studio.context.pupil_id)
    return next(named, pupils[0].nickname if pupils else "")


def _example(studio: Studio) -> str:
    """A name as it may be typed, made of this studio's own names."""
    pupils, pieces = studio.pupils(), studio.pieces()
    if not pupils or not pieces:
        return word("naming.example")
    context = studio.context
    last = next((piece for piece in pieces if piece.id == context.piece_id), pieces[0]).title.split()[-1]
    return f"{_who(studio)} {last} {next(iter(studio.characters()), '')}".lower().strip()
