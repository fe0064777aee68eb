"""Looking at kept takes: the one service that commands, pages and the lesson share.

It loads the take, its music and the character asked, follows, looks, and keeps what was heard.
"""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from keysense.errors import AgreementError, StudioError
from keysense.studio.rows import StoredTake, StoredTarget
from keysense.studio.studio import Studio

if TYPE_CHECKING:
    from keysense.comparing import Comparison
    from keysense.findings import Reading

__all__ = ["beside", "catch_up", "heard", "look_at", "target_for"]

# Nobody of five to fourteen plays a tune this densely; a fist on the keys does (common practice, no source).
_MOST_NOTES_A_SECOND = 15.0


def look_at(studio: Studio, ref: str, *, target: StoredTarget | None = None, character: str | None = None) -> Reading:
    """Follow a take against its piece's newest target, look, keep the reading, and give it.

    target, character: other than the take's own. Raises StudioError where the take has no piece and its tune is not
    recognised, or where its piece has no music yet.
    """
    take = studio.take(ref)
    against = target or target_for(studio, take)
    word = take.character if character is None else character
    reading = _look(studio, take, against, word)
    studio.keep_reading(reading, take.id, against.id, character=word)
    return reading


def heard(studio: Studio, ref: str) -> Reading | None:
    """What becomes of a take that has just been cut: looked at, and kept if its carried name holds.

    A carried name holds where the piece can be followed in the take and a guardian's agreement covers keeping it;
    otherwise the take waits without a piece (flag ``other_playing``), and nothing of it is kept. None where there is
    nothing to look at it against.
    """
    take = studio.take(ref)
    if take.carried and _bangs(take):
        studio.uncarry(take.id)
        return None
    try:
        reading = look_at(studio, take.id)
    except StudioError:
        return None
    if not take.carried:
        return reading
    if reading.following.lost:
        studio.uncarry(take.id)
        return None
    with suppress(AgreementError):  # then it waits: to be looked at, not kept
        studio.settle(take.id)
    return reading


def catch_up(studio: Studio, *, pupil_id: str | None = None, piece_id: str | None = None) -> int:
    """Look at every kept take that was not looked at yet in today's way against the newest music; gives how many."""
    from keysense.findings import RECIPE

    behind = studio.unread(recipe=RECIPE, pupil_id=pupil_id, piece_id=piece_id)
    for take_id in behind:
        look_at(studio, take_id)
    return len(behind)


def beside(studio: Studio, a: str, b: str, *, wants_a: str | None = None, wants_b: str | None = None) -> Comparison:
    """Two takes of one tune, set beside each other, each with its character's wishes (or those given).

    Raises StudioError where they are of two different pieces.
    """
    from keysense.comparing import compare
    from keysense.practice import read_practice

    first, second = studio.take(a), studio.take(b)
    target = target_for(studio, first)
    if target_for(studio, second).piece_id != target.piece_id:
        raise StudioError("those takes are of two pieces: choose two of one tune")
    words = (first.character if wants_a is None else wants_a, second.character if wants_b is None else wants_b)
    return compare(
        _look(studio, first, target, words[0]),
        _look(studio, second, target, words[1]),
        target.target,
        wants_a=studio.asked(words[0]),
        wants_b=studio.asked(words[1]),
        practice=read_practice(studio.folder.practice),
    )


def target_for(studio: Studio, take: StoredTake) -> StoredTarget:
    """The music of a take: its piece's newest target, or the one piece that is recognised in it."""
    if take.piece_id is not None:
        return studio.target_of(take.piece_id)
    found = _recognised(studio, take)
    if found is None:
        raise StudioError(f'take {take.id[:8]} has no piece yet: keysense name {take.id[:8]} "PUPIL PIECE"')
    return found


def _look(studio: Studio, take: StoredTake, target: StoredTarget, word: str) -> Reading:
    from keysense.findings import look
    from keysense.practice import read_practice

    practice = read_practice(studio.folder.practice)
    return look(studio.take_notes(take.id), target.target, character=studio.asked(word), practice=practice)


def _bangs(take: StoredTake) -> bool:
    return take.n >= 8 and take.n > _MOST_NOTES_A_SECOND * max(take.duration_s, 0.1)


def _recognised(studio: Studio, take: StoredTake) -> StoredTarget | None:
    """The piece that a take without a name is of, where exactly one can be followed in it."""
    from keysense.following import follow

    notes = studio.take_notes(take.id)
    kept = [target for target in studio.targets() if not follow(target.target, notes).lost]
    return kept[0] if len(kept) == 1 else None
