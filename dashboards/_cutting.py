"""Where a take may be split, with which it may be joined, and what is asked about it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from keysense.dashboards._doubts import question_about
from keysense.dashboards._names import NamedTake

from keysense.notes import Take
from keysense.page import Panel
from keysense.studio.parting import silences
from keysense.studio.rows import StoredTake
from keysense.studio.studio import Studio
from keysense.words import word

__all__ = ["asked_of", "cut_panel", "cuts_of"]


def cuts_of(
    studio: Studio, take: StoredTake, notes: Take, *, around: Sequence[StoredTake] | None = None
) -> dict[str, Any]:
    """Places to split it at as (note, words), and whether it may be joined with the one before.

    around: as for `Studio.neighbour_before`. ``undo``, whether it was split or joined, is for the caller to say.
    """
    start_s = float(notes.notes["onset_s"][0]) if len(notes) else 0.0
    places = [
        (note, word("cut.at", seconds=round(float(notes.notes["release_s"][:note].max()) - start_s)))
        for note, _ in silences(notes)
    ]
    is_open = take.state in ("waiting", "kept")
    return {
        "take": take.id,
        "places": places if is_open else [],
        "join": studio.neighbour_before(take, around) is not None,
        "undo": False,
    }


def cut_panel(studio: Studio, named: NamedTake) -> Panel:
    """The small control on a take's own page, behind the fold."""
    cuts = cuts_of(studio, named.take, studio.take_notes(named.take.id))
    cuts["undo"] = bool(studio.made([named.take.id]))
    return Panel("cut", word("cut.name"), {"cuts": cuts}, for_teacher=True)


def asked_of(studio: Studio, take_id: str) -> list[Panel]:
    """The one question that stands open about a take."""
    question = question_about(studio, take_id)
    return [] if question is None else [Panel("doubt", word("doubt.name"), {"take": take_id, "question": question})]
