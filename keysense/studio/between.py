"""Kept takes beside each other that nobody chose by hand: one lesson and the next, by ear and from the page, a take and
the playing it was learnt from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from keysense.errors import StudioError
from keysense.practice import read_practice
from keysense.studio.looking import catch_up, heard_of, looked_beside, target_for
from keysense.studio.rows import Piece, StoredTake
from keysense.studio.studio import Studio

if TYPE_CHECKING:
    from keysense.comparing.lessons import Overnight
    from keysense.comparing.manners import MannerDifference, PieceHeard
    from keysense.comparing.phrases import PhraseShape

__all__ = [
    "BY_EAR",
    "FROM_PAGE",
    "BesideModel",
    "OvernightPair",
    "beside_model",
    "manners_of",
    "model_of",
    "overnights",
]

BY_EAR, FROM_PAGE = "by ear", "from the page"
_MOST_TAKES = 3  # the newest of a piece in one manner: a fair median


@dataclass(frozen=True)
class OvernightPair:
    """The last playing of one day and the first of the next day of one piece, and what became of each wish.

    why: why nothing is told of them.
    """

    piece: Piece
    last: StoredTake | None
    first: StoredTake
    found: tuple[Overnight, ...] = ()
    why: str = ""


@dataclass(frozen=True)
class BesideModel:
    """A take, the teacher's own playing of its piece, and the shape of each phrase."""

    model: StoredTake
    take: StoredTake
    phrases: tuple[PhraseShape, ...]


def overnights(studio: Studio, pupil_id: str, piece_id: str | None = None) -> tuple[OvernightPair, ...]:
    """For each piece (or the one given): the first playing of its newest day beside the last of the day before, of the
    same character. Pieces played on one day only are not among them."""
    pieces = [piece for piece in studio.pieces() if piece_id in (None, piece.id)]
    pairs = (_newest_pair(studio, pupil_id, piece) for piece in pieces)
    return tuple(pair for pair in pairs if pair is not None)


def _newest_pair(studio: Studio, pupil_id: str, piece: Piece) -> OvernightPair | None:
    from keysense.comparing.lessons import overnight

    takes = [t for t in reversed(studio.takes(pupil=pupil_id, piece=piece.id, state="kept")) if not t.is_model]
    days = [take.started_utc.astimezone(studio.settings.zone).date() for take in takes]
    if not takes or days[0] == days[-1]:
        return None
    first = takes[days.index(days[-1])]
    earlier = [take for take, day in zip(takes, days, strict=True) if day < days[-1]]
    day_before = earlier[-1].started_utc.astimezone(studio.settings.zone).date()
    of_it = [take for take in earlier if take.character == first.character
             and take.started_utc.astimezone(studio.settings.zone).date() == day_before]  # fmt: skip
    wants = studio.asked(first.character)
    if wants is None or not wants.wishes:
        why = "no character was named for the first playing, so nothing was wished"
        return OvernightPair(piece, None, first, (), why)
    if not of_it:
        return OvernightPair(piece, None, first, (), "the day before it was not played in this character")
    looked = looked_beside(studio, (of_it[-1], first), (None, wants))
    practice = read_practice(studio.folder.own_practice)
    found = overnight(*looked.readings, wants, practice=practice, loudness=looked.loudness)
    return OvernightPair(piece, of_it[-1], first, found)


def manners_of(studio: Studio, pupil_id: str) -> tuple[tuple[MannerDifference, ...], tuple[int, int]]:
    """Pieces learnt from the page minus pieces learnt by ear, and how many of each there are (by ear first)."""
    from keysense.comparing.manners import manners

    catch_up(studio, pupil_id=pupil_id)
    takes = [take for take in studio.takes(pupil=pupil_id, state="kept") if not take.is_model and take.piece_id]
    by_manner: list[list[PieceHeard]] = []
    for manner in (BY_EAR, FROM_PAGE):
        pieces: dict[str, list[StoredTake]] = {}
        for take in takes:
            if take.manner == manner:
                pieces.setdefault(take.piece_id or "", []).append(take)
        by_manner.append([_piece_heard(studio, some[:_MOST_TAKES]) for some in pieces.values()])
    by_ear, read = by_manner
    return manners(by_ear, read, practice=read_practice(studio.folder.own_practice)), (len(by_ear), len(read))


def _piece_heard(studio: Studio, takes: list[StoredTake]) -> PieceHeard:
    """The medians of one piece, from what is kept of its takes: nothing is followed again."""
    from keysense.comparing.manners import TakeHeard, piece_heard

    heard = []
    readings = studio.readings([take.id for take in takes])
    for take in takes:
        reading = readings.get(take.id)
        if reading is not None and not reading.lost:
            followed = int((reading.following.pairs["target"] >= 0).sum())
            heard.append(TakeHeard(reading.findings, followed, studio.take_notes(take.id).notes["velocity"]))
    return piece_heard(heard)


def model_of(studio: Studio, take: StoredTake) -> StoredTake | None:
    """The newest playing of the teacher's own of a take's piece; None where there is none, or it is one itself."""
    if take.piece_id is None or take.is_model:
        return None
    return next(iter(studio.takes(piece=take.piece_id, state="kept", model=True, limit=1)), None)


def beside_model(studio: Studio, ref: str) -> BesideModel:
    """A take beside the teacher's own playing of its piece. Raises StudioError where there is none."""
    from keysense.comparing.phrases import phrase_shapes

    take = studio.take(ref)
    target_for(studio, take)
    model = model_of(studio, take)
    if model is None:
        raise StudioError(
            "there is no playing of your own of this piece: play it, then keysense piece play-in with its title"
        )
    return BesideModel(model, take, phrase_shapes(heard_of(studio, model.id), heard_of(studio, take.id)))
