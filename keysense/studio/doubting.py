"""What a take sounds like, beside what it is called; where the two differ it is asked, never decided."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from keysense.errors import StudioError
from keysense.studio.parting import silences
from keysense.studio.rows import StoredTake, StoredTarget
from keysense.studio.wishing import Doubt

if TYPE_CHECKING:
    from keysense.notes import Take
    from keysense.practice import Practice
    from keysense.studio.studio import Studio

__all__ = ["Sounds", "answer_cut", "answer_piece", "answer_pupil", "answer_shown", "ask_about", "sounds_like"]

# So many pieces are tried, so that the page never waits for it.
_MOST_TRIED = 8
# Where more pupils than these play a piece, it tells nothing of who played.
_MOST_PLAYERS = 3


class Sounds(NamedTuple):
    """other: the other piece that a take is clearly of. own_first: its own explains it best of all.

    cut: where two tunes stand in it, the ids of their pieces and the first note of the second (from 0).
    """

    other: StoredTarget | None
    own_first: bool
    cut: tuple[str, str, int] | None


def sounds_like(studio: Studio, take: StoredTake) -> Sounds:
    """A take laid over what its pupil plays, and over what else is likely."""
    from keysense.following import own_of, recognise
    from keysense.practice import read_practice

    likely = studio.likely_pieces(take.pupil_id)  # of pieces with music only
    own = [piece_id for piece_id in likely if piece_id == take.piece_id]
    others = [piece_id for piece_id in likely if piece_id != take.piece_id]
    music = [studio.target_of(piece_id) for piece_id in (*own, *others[:_MOST_TRIED])]
    notes = studio.take_notes(take.id)
    rests = [note for note, _ in silences(notes, len(notes))]
    found = recognise(notes, [target.target for target in music], rests=rests)
    own_first = bool(found.ranked) and music[found.ranked[0].index].piece_id == take.piece_id
    cut = None
    if found.cut is not None:
        first, second = (music[index].piece_id for index in (found.cut.first, found.cut.second))
        practice = read_practice(studio.folder.own_practice)
        cut = (first, second, _at_a_silence(notes, found.cut.played, practice))
    if found.decided is None or own_first or own_of(music[found.decided].target, notes)[1].lost:
        return Sounds(None, own_first, cut)
    return Sounds(music[found.decided], False, cut)


def ask_about(studio: Studio, take: StoredTake, sounds: Sounds) -> None:
    """Write down what is to be asked of a take as it was called, and take back what no longer is."""
    if take.is_model:
        return
    _ask(studio, take.id, "cut", sounds.cut and dict(zip(("first", "second", "note"), sounds.cut, strict=True)))
    _ask(studio, take.id, "shown", None if sounds.cut else _shown(studio, take))
    other = sounds.other.piece_id if sounds.other else None
    is_other = other is not None and take.piece_id is not None
    _ask(studio, take.id, "piece", {"sounds": other, "named": take.piece_id} if is_other else None)
    players = _players(studio, other) if other and take.pupil_id and take.carried else []
    is_theirs = 0 < len(players) <= _MOST_PLAYERS and take.pupil_id not in players
    _ask(studio, take.id, "pupil", {"pupil": take.pupil_id, "others": players, "piece": other} if is_theirs else None)


def answer_piece(studio: Studio, take_id: str, *, sounds: bool) -> None:
    """It is the piece it sounds like, or it is the piece it was called. Raises StudioError where nothing was asked."""
    from keysense.studio.looking import heard

    asked = _asked(studio, take_id, "piece")
    studio.settle_doubt(take_id, "piece")
    studio.name_take(take_id, piece=asked.body["sounds" if sounds else "named"])
    heard(studio, take_id)


def answer_pupil(studio: Studio, take_id: str, pupil_id: str) -> None:
    """Who it was that played. Raises StudioError where it was not asked, AgreementError as `name_take`."""
    from keysense.studio.looking import heard

    asked = _asked(studio, take_id, "pupil")
    studio.name_take(take_id, pupil=pupil_id, piece=asked.body["piece"])
    for kind in ("pupil", "piece"):
        studio.settle_doubt(take_id, kind)
    heard(studio, take_id)


def answer_cut(studio: Studio, take_id: str, *, split: bool) -> tuple[StoredTake, ...]:
    """Part it into the two tunes, each called by its piece, or leave it as one; gives what there is now."""
    from keysense.studio.looking import heard

    asked, take = _asked(studio, take_id, "cut"), studio.take(take_id)
    if split and take.pupil_id is not None:
        studio.must_agree(take.pupil_id)  # before anything is changed
    studio.settle_doubt(take_id, "cut")
    if not split:
        return (take,)
    parts = studio.split_take(take.id, int(asked.body["note"]))
    for part, piece in zip(parts, (asked.body["first"], asked.body["second"]), strict=True):
        # a character was said of the tune that was named; of the other nobody has said any
        studio.name_take(part.id, piece=piece, character=take.character if piece == take.piece_id else "")
        heard(studio, part.id)
    return tuple(studio.take(part.id) for part in parts)


def answer_shown(studio: Studio, take_id: str, *, mine: bool) -> StoredTake:
    """The first playing in it was the teacher's: it is parted off and set aside; or all of it was the pupil's."""
    from keysense.studio.looking import heard

    asked, take = _asked(studio, take_id, "shown"), studio.take(take_id)
    studio.settle_doubt(take_id, "shown")
    if not mine:
        return take
    first, pupils = studio.split_take(take.id, int(asked.body["note"]))
    studio.drop_take(first.id)
    heard(studio, pupils.id)
    return studio.take(pupils.id)


def _shown(studio: Studio, take: StoredTake) -> dict[str, object] | None:
    """Where the pupil may have begun, after somebody had shown it: from what is kept, without following again."""
    kept = None if take.pupil_id is None or take.piece_id is None else studio.reading(take.id)
    if kept is None or len(kept.following.passes) < 2:
        return None
    from keysense.comparing.shown import shown_first
    from keysense.findings.heard import Heard
    from keysense.practice import read_practice

    music, practice = studio.target_of(take.piece_id or ""), read_practice(studio.folder.own_practice)
    notes = studio.take_notes(take.id)
    if kept.target_id != music.id or len(kept.following.pairs) != len(notes):  # of one of two players
        return None
    note = shown_first(Heard(notes, music.target, kept.following, practice))
    if note is None:
        return None
    return {
        "note": _at_a_silence(notes, note, practice),
        "piece": take.piece_id,
        "pupil": take.pupil_id,
    }


def _at_a_silence(take: Take, note: int, practice: Practice) -> int:
    """A tune begins after a silence where there is one nearby: the end of one may fit the beginning of the next."""
    places, nearby = silences(take, len(take), practice), practice.value("parting_near")
    near = [(length_s, at) for at, length_s in places if abs(at - note) <= nearby]
    return max(near)[1] if near else note


def _asked(studio: Studio, take_id: str, kind: str) -> Doubt:
    found = next((doubt for doubt in studio.doubts(take_id) if doubt.kind == kind), None)
    if found is None:
        raise StudioError("that was answered already: the page shows what the take is called now")
    return found


def _ask(studio: Studio, take_id: str, kind: str, body: dict[str, object] | None) -> None:
    if body:
        studio.doubt(take_id, kind, **body)
    else:
        studio.no_doubt(take_id, kind)


def _players(studio: Studio, piece_id: str) -> list[str]:
    """The pupils of whom a take of this piece is kept."""
    kept = studio.takes(piece=piece_id, state="kept")
    return sorted({take.pupil_id for take in kept if take.pupil_id and not take.is_model})
