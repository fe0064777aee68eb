"""What stands on the lesson's page beside its takes: what was asked, what is open, warm-up, line, names to tap."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from keysense.dashboards._before import bounds_of
from keysense.dashboards._cutting import cuts_of
from keysense.dashboards._doubts import question_about
from keysense.dashboards._names import name_takes

from keysense.capture.state import ListeningState
from keysense.page import Panel
from keysense.papers import lesson_of, open_aim, pressed
from keysense.studio.rows import Piece, StoredTake
from keysense.studio.studio import Studio
from keysense.words import word

__all__ = [
    "asked_last",
    "cards",
    "line_panel",
    "open_questions",
    "still_open",
    "taps",
    "warmup_line",
    "warmup_panel",
]

_MOST_TAPS = 8
_LATELY = 40  # takes that say who is coming in these days


def asked_last(studio: Studio, pupil_id: str | None) -> list[Panel]:
    """What the pupil was asked last: by the press after a look, else on the last slip that was signed.

    Nothing where it came since, or where the pupil has played on another day since without being asked again.
    """
    last = _last_day(studio, pupil_id)
    wish = pressed(studio, pupil_id)
    said = wish.said if wish is not None and (last is None or wish.day is None or wish.day >= last) else ""
    if not said and pupil_id is not None:
        slips = [paper for paper in studio.papers(pupil_id, kind="slip") if paper.is_signed]
        said = slips[0].text.get("wish", "") if slips and (last is None or slips[0].lesson_day >= last) else ""
    return [Panel("asked", word("asked.name"), {"said": said})] if said else []


def _last_day(studio: Studio, pupil_id: str | None) -> date | None:
    """The day on which something of the pupil's was kept last."""
    kept = [] if pupil_id is None else studio.takes(pupil=pupil_id, state="kept", limit=1, model=False)
    return kept[0].started_utc.astimezone(studio.settings.zone).date() if kept else None


def still_open(studio: Studio, pupil_id: str | None) -> list[Panel]:
    """What the last lesson left open, as the pupil would be asked it."""
    said = [] if pupil_id is None else open_questions(studio, pupil_id)
    return [Panel("open", word("open.name"), {"said": said})] if said else []


def open_questions(studio: Studio, pupil_id: str) -> list[tuple[str, str]]:
    """The one wish of the pupil's last lesson after the title of its tune; nothing where nothing is open."""
    aim = open_aim(lesson_of(studio, pupil_id))
    return [] if aim.key == "nothing" else [(aim.piece, aim.trying)]


def cards(studio: Studio, takes: Sequence[StoredTake]) -> list[dict[str, Any]]:
    """All that the card of each take is drawn from."""
    ids = [take.id for take in takes]
    made, doubted = studio.made(ids), studio.doubted(ids)
    around = studio.takes_around(min(takes, key=lambda take: take.started_utc)) if takes else []
    likely = next((pupil for pupil in studio.pupils() if pupil.id == studio.context.pupil_id), None)
    whose = (likely.id, likely.nickname) if likely else ()
    rows = []
    for named in name_takes(studio, list(takes)):
        take, notes = named.take, studio.take_notes(named.take.id)
        is_there = take.state != "dropped"
        cuts = {**cuts_of(studio, take, notes, around=around), "undo": is_there and take.id in made}
        question = question_about(studio, take.id) if is_there and take.id in doubted else None
        rows.append({"named": named, "notes": notes, "cuts": cuts, "question": question, "likely": whose})
    return rows


def taps(studio: Studio) -> dict[str, Any]:
    """Names to tap: those who played of late, the likeliest pieces and characters; the likely ones are chosen.

    others: whether there are pupils or pieces that are not among them.
    """
    context = studio.context
    names = {pupil.id: pupil.nickname for pupil in studio.pupils()}
    of_late = [context.pupil_id, *(take.pupil_id for take in studio.takes(limit=_LATELY))]
    pupils = [pupil_id for pupil_id in dict.fromkeys([*of_late, *names]) if pupil_id in names][:_MOST_TAPS]
    titles = {piece.id: piece.title for piece in studio.pieces()}
    likely = [*([context.piece_id] if context.piece_id in titles else []), *studio.likely_pieces(context.pupil_id)]
    likely += list(titles)
    pieces = [piece_id for piece_id in dict.fromkeys(likely) if piece_id][:_MOST_TAPS]
    return {
        "pupil": [(pupil_id, name) for pupil_id, name in names.items() if pupil_id in pupils],
        "piece": [(piece_id, title) for piece_id, title in titles.items() if piece_id in pieces],
        "others": len(names) > _MOST_TAPS or len(titles) > _MOST_TAPS,
        "character": [(said, said) for said in list(studio.characters())[:_MOST_TAPS]],
        "chosen": {"pupil": context.pupil_id, "piece": context.piece_id, "character": context.character},
    }


def line_panel(studio: Studio) -> Panel:
    """Where the line is drawn while it is played: between the softest and the loudest of the piano that is heard."""
    soft, loud = bounds_of(studio, ListeningState(studio.folder.journal).now().piano)
    words = [word(f"loudness.{step}") for step in ("very_soft", "soft", "middle", "loud", "very_loud")]
    return Panel("line", word("line.name"), {"soft": soft, "loud": loud, "words": words})


def warmup_line(studio: Studio) -> list[Panel]:
    """Which warm-up stands, in one line."""
    said = [_warmup_words(piece) for piece in studio.warmups()]
    return [Panel("text", word("warmup.name"), {"said": said})] if said else []


def _warmup_words(piece: Piece) -> str:
    if not piece.warmup_hand:
        return word("warmup.stands", piece=piece.title)
    return word("warmup.stands.hand", piece=piece.title, hand=word(f"hand.{piece.warmup_hand}"))


def warmup_panel(studio: Studio) -> Panel:
    """Setting it: a piece that has music, and a hand."""
    with_music = set(studio.likely_pieces())
    pieces = [(piece.id, piece.title) for piece in studio.pieces() if piece.id in with_music]
    stands = next(iter(studio.warmups()), None)
    chosen = {"piece": stands.id if stands else "", "hand": stands.warmup_hand if stands else ""}
    return Panel("warmup", word("warmup.name"), {"pieces": pieces, "chosen": chosen}, for_teacher=True)
