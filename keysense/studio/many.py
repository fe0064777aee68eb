"""Looking at many kept takes: spots of a pupil and of a piece, cards read at first sight."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from keysense.practice import read_practice
from keysense.studio.looking import catch_up, heard_of
from keysense.studio.rows import Piece
from keysense.studio.studio import Studio

if TYPE_CHECKING:
    from keysense.comparing.sight import SightReading
    from keysense.comparing.spots import Caught, PieceSpot, Spots

__all__ = ["sight_of", "spots_of", "tricky_spots"]

_FIRST_SIGHT = "first sight"


def spots_of(studio: Studio, pupil_id: str, piece_id: str) -> Spots:
    """Where this pupil is caught again and again in this piece."""
    from keysense.comparing.spots import spots

    catch_up(studio, pupil_id=pupil_id, piece_id=piece_id)
    practice = read_practice(studio.folder.own_practice)
    return spots(_caught(studio, pupil_id, piece_id), studio.target_of(piece_id).target, practice=practice)


def tricky_spots(studio: Studio, piece_id: str) -> tuple[PieceSpot, ...]:
    """Which bars of this piece catch many; worked out afresh each time, so who was erased is not in it."""
    from keysense.comparing.spots import piece_spots

    catch_up(studio, piece_id=piece_id)
    pupils = [_caught(studio, pupil.id, piece_id) for pupil in studio.pupils()]
    practice = read_practice(studio.folder.own_practice)
    return piece_spots([takes for takes in pupils if takes], studio.target_of(piece_id).target, practice=practice)


def _caught(studio: Studio, pupil_id: str, piece_id: str) -> list[Caught]:
    from keysense.comparing.spots import caught_in

    music = studio.target_of(piece_id)
    most = 2 * int(read_practice(studio.folder.own_practice).value("spot_takes"))  # some may have lost the place
    takes = studio.takes(pupil=pupil_id, piece=piece_id, state="kept", limit=most)
    readings = studio.readings([take.id for take in takes])
    return [
        caught_in(reading.findings, reading.following, music.target)
        for take in reversed(takes)
        if not take.is_model and (reading := readings.get(take.id)) is not None and reading.target_id == music.id
    ]


def sight_of(studio: Studio, pupil_id: str) -> tuple[SightReading, tuple[Piece, ...]]:
    """Where this pupil waits at first sight, over all takes named so, and the pieces they were of.

    A piece counts once: its first take named "first sight".
    """
    from keysense.comparing.sight import first_sight

    takes = [t for t in reversed(studio.takes(pupil=pupil_id, state="kept")) if t.manner == _FIRST_SIGHT]
    first = {take.piece_id: take for take in reversed(takes) if take.piece_id is not None}
    cards = sorted(first.values(), key=lambda take: take.started_utc)
    heard = [heard_of(studio, take.id) for take in cards]
    lines = [line_bars(one.target.source.musicxml) for one in heard]
    practice = read_practice(studio.folder.own_practice)
    pieces = tuple(studio.piece(take.piece_id or "") for take in cards)
    return first_sight(heard, line_bars=lines, practice=practice), pieces


def line_bars(musicxml: str) -> tuple[int, ...]:
    """The bars that begin a new line of the page, where the score says so."""
    begun = []
    for number, body in re.findall(r'<measure\b[^>]*\bnumber="(\d+)"[^>]*>(.*?)</measure>', musicxml, re.S):
        if re.search(r'<print\b[^>]*new-(?:system|page)="yes"', body):
            begun.append(int(number))
    return tuple(dict.fromkeys(begun))
