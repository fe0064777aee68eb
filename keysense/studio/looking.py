"""Looking at kept takes: the one service that commands, pages and the lesson share.

It loads the take, its music and the character asked, follows, looks, and keeps what was heard.
"""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING, NamedTuple

from keysense.errors import AgreementError, StudioError
from keysense.studio.doubting import ask_about, sounds_like
from keysense.studio.rows import StoredTake, StoredTarget
from keysense.studio.same_day import played_alike
from keysense.studio.seen import seen
from keysense.studio.studio import Studio

if TYPE_CHECKING:
    from keysense.comparing import Character, Comparison
    from keysense.findings import Reading
    from keysense.findings.heard import Heard
    from keysense.notes import Take
    from keysense.practice import Practice
    from keysense.studio.pianos import StoredSurvey
    from keysense.survey import TouchCurve

__all__ = ["beside", "catch_up", "heard", "heard_of", "look_at", "looked_beside", "target_for"]


def look_at(
    studio: Studio, ref: str, *, target: StoredTarget | None = None, character: Character | None = None
) -> Reading:
    """Follow a take against its piece's newest target, look, keep the reading, and give it.

    target, character: other than the take's own. Raises StudioError where the take has no piece and its tune is not
    recognised, or where its piece has no music yet.
    """
    take = studio.take(ref)
    against = target or target_for(studio, take)
    asked = character or studio.asked(take.character)
    reading = _look(studio, take, against, asked)
    studio.keep_reading(reading, take.id, against.id, character=asked.word if asked else "")
    return reading


def heard(studio: Studio, ref: str) -> Reading | None:
    """What becomes of a take that has just been cut: looked at, and kept if its carried name holds.

    A carried name holds where its piece can be followed in the take, better than any other of the pupil's, and a
    guardian's agreement covers keeping it. The standing warm-up is recognised unnamed; any other tune that is
    recognised is proposed, never decided. All else waits without a name (flag ``other_playing``). None where there is
    nothing to look at it against.
    """
    take = studio.take(ref)
    if take.state == "kept" or (take.piece_id is not None and not take.carried):
        reading = _by_its_name(studio, take)  # somebody said what it is
        ask_about(studio, take, sounds_like(studio, take))
        return reading
    if _bangs(studio, take):
        studio.uncarry(take.id)
        return None
    reading = _by_its_name(studio, take)
    found, own_first, cut = sounds = sounds_like(studio, take)
    if found is not None:
        carried, take = take, studio.suggest(take.id, found.piece_id)
        reading = look_at(studio, take.id)
        if not studio.piece(found.piece_id).is_warmup:
            ask_about(studio, carried, sounds)
            return reading
    elif cut is not None:
        ask_about(studio, take, sounds)
        return reading
    elif reading is None:
        _nothing_to_go_by(studio, take)
        return None
    elif not own_first:
        return reading  # perhaps it is, perhaps another: its name waits for a yes
    with suppress(AgreementError):  # then it waits: to be looked at, not kept
        studio.settle(take.id)
    return reading


def _nothing_to_go_by(studio: Studio, take: StoredTake) -> None:
    """No music fits: what was said ahead of a piece without music holds, of a pupil alone is asked, else falls."""
    if take.piece_id is None:
        if take.pupil_id is None:
            studio.uncarry(take.id)
    elif take.piece_id in studio.likely_pieces():
        studio.uncarry(take.id)  # its music is there, and this is not it
    else:
        with suppress(AgreementError):
            studio.settle(take.id)


def _by_its_name(studio: Studio, take: StoredTake) -> Reading | None:
    """The reading against the piece a take is named or carried for; None without a piece, or where it does not fit."""
    if take.piece_id is None:
        return None
    try:
        reading = look_at(studio, take.id)
    except StudioError:  # the piece has no music yet
        return None
    return None if reading.following.lost and take.carried else reading


def catch_up(studio: Studio, *, pupil_id: str | None = None, piece_id: str | None = None) -> int:
    """Look at every kept take that was not looked at yet in today's way against the newest music; gives how many."""
    from keysense.findings import RECIPE

    behind = studio.unread(recipe=RECIPE, pupil_id=pupil_id, piece_id=piece_id)
    for take_id in behind:
        look_at(studio, take_id)
    return len(behind)


def beside(
    studio: Studio, a: str, b: str, *, wants_a: Character | None = None, wants_b: Character | None = None
) -> Comparison:
    """Two takes of one tune, set beside each other, each with its own character's wishes or with those given.

    On pianos known by a survey both are read on the touch scale that these share; of two pianos that are not both
    known, loudness is not judged.

    Raises StudioError where they are of two different pieces.
    """
    from keysense.comparing import compare
    from keysense.comparing.pianos import without_loudness
    from keysense.practice import read_practice

    takes = studio.take(a), studio.take(b)
    wants = wants_a or studio.asked(takes[0].character), wants_b or studio.asked(takes[1].character)
    pair, practice = looked_beside(studio, takes, wants), read_practice(studio.folder.own_practice)

    more_a, more_b = pair.more

    def compared() -> Comparison:
        target = pair.readings[0].target
        both = compare(
            *pair.readings, target, wants_a=wants[0], wants_b=wants[1], practice=practice, more_a=more_a, more_b=more_b
        )
        return both if pair.loudness else without_loudness(both)

    # a comparison holds its two readings, so that while it is kept nothing else can go by their numbers
    looked_at = (*pair.readings, *more_a, *more_b)
    hangs_on = (*(id(reading) for reading in looked_at), pair.loudness, repr(wants), *practice.rows.values())
    return seen((takes[0].id, takes[1].id, *hangs_on), compared)


class Looked(NamedTuple):
    """Two readings of one tune; whether their loudness may be judged between them; others to be taken with each."""

    readings: tuple[Reading, Reading]
    loudness: bool
    more: tuple[list[Reading], list[Reading]]


def looked_beside(
    studio: Studio, takes: tuple[StoredTake, StoredTake], wants: tuple[Character | None, Character | None]
) -> Looked:
    """Two takes looked at for being compared: on the touch scale where both pianos are known by a survey.

    Raises StudioError where they are of two different pieces.
    """
    target = target_for(studio, takes[0])
    if target_for(studio, takes[1]).piece_id != target.piece_id:
        raise StudioError("those takes are of two pieces: choose two of one tune")
    curves = studio.touch_curves()
    known = [curves.get(take.instrument) for take in takes]
    scales = known if all(known) else [None, None]
    sides = [
        [_look(studio, one, target, asked, scale) for one in (take, *_with_it(studio, take, target, takes))]
        for take, asked, scale in zip(takes, wants, scales, strict=True)
    ]
    (first, *more_a), (second, *more_b) = sides
    return Looked((first, second), all(known) or takes[0].instrument == takes[1].instrument, (more_a, more_b))


def _with_it(
    studio: Studio, take: StoredTake, target: StoredTarget, pair: tuple[StoredTake, StoredTake]
) -> list[StoredTake]:
    """The takes of that day that are taken together with one: of a short piece, where two characters are compared."""
    from keysense.practice import read_practice

    short = len(target.target.notes) <= read_practice(studio.folder.own_practice).value("pool_notes")
    return played_alike(studio, take) if short and pair[0].character != pair[1].character and take.character else []


def heard_of(studio: Studio, ref: str) -> Heard:
    """A take laid over its music, for those who look at many takes at once."""
    from keysense.findings.heard import Heard
    from keysense.following import own_of
    from keysense.practice import read_practice

    take = studio.take(ref)
    music = target_for(studio, take).target
    notes, following = own_of(music, studio.take_notes(take.id))
    return Heard(notes, music, following, read_practice(studio.folder.own_practice), studio.asked(take.character))


def target_for(studio: Studio, take: StoredTake) -> StoredTarget:
    """The music of a take: its piece's newest target, or the one piece that is recognised in it."""
    if take.piece_id is not None:
        return studio.target_of(take.piece_id)
    found = sounds_like(studio, take).other
    if found is None:
        raise StudioError(f'take {take.id[:8]} has no piece yet: keysense name {take.id[:8]} "PUPIL PIECE"')
    return found


def _look(
    studio: Studio, take: StoredTake, target: StoredTarget, asked: Character | None, scale: TouchCurve | None = None
) -> Reading:
    from keysense.practice import read_practice

    practice, known = read_practice(studio.folder.own_practice), studio.survey_of(take.instrument)
    stands_on = (take.flags, take.started_utc, take.instrument, take.file, target.id, repr(asked), scale)
    key = (take.id, *stands_on, known and known.id, *practice.rows.values())
    return seen(key, lambda: _looked(studio.take_notes(take.id), target, asked, scale, practice, known))


def _looked(
    notes: Take, target: StoredTarget, asked: Character | None, scale: TouchCurve | None, practice: Practice,
    known: StoredSurvey | None,
) -> Reading:  # fmt: skip
    from dataclasses import replace

    from keysense.findings import look
    from keysense.survey import as_known, by_survey, on_touch_scale, touch_level

    sent = notes if known is None else as_known(notes, known.survey)
    notes = sent if scale is None else on_touch_scale(sent, scale)
    reading = look(notes, target.target, character=asked, practice=practice)
    if known is None or not reading.findings:
        return reading
    findings = by_survey(reading.findings, known.survey) + touch_level(sent, known.survey)
    return replace(reading, findings=findings)


def _bangs(studio: Studio, take: StoredTake) -> bool:
    """So many notes a second are no playing of a tune; of a few notes nothing is said."""
    from keysense.practice import read_practice

    most = read_practice(studio.folder.own_practice).value("bang_rate")
    return take.n >= 8 and take.n > most * max(take.duration_s, 0.1)
