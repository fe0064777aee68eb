"""What was kept of one pupil's lesson, as plain rows: all that a draft may be made of."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date

from keysense.comparing import Comparison, Outcome
from keysense.errors import StudioError, TargetError
from keysense.finding import Finding
from keysense.following import Following
from keysense.papers.pressed import pressed
from keysense.practice import read_practice
from keysense.studio.looking import beside, look_at
from keysense.studio.rows import StoredTake
from keysense.studio.seen import seen
from keysense.studio.studio import Studio
from keysense.targets.target import Target

__all__ = ["Lesson", "Pair", "Played", "lesson_of"]

_OPEN: tuple[Outcome, ...] = ("asked, not yet heard", "asked, the other way came", "can't tell yet")


@dataclass(frozen=True)
class Played:
    """One kept take. findings: what was heard in it, none where its place was lost or it has no music.

    to_the_end: it was played in one go, from the first bar of its music to the last.
    """

    take_id: str
    piece: str
    character: str = ""
    manner: str = ""
    is_warmup: bool = False
    findings: tuple[Finding, ...] = ()
    to_the_end: bool = False


@dataclass(frozen=True)
class Pair:
    """Two characters of one tune. came: wishes of the second beside the first that were asked and heard.

    trying: which of the two (0 or 1) to play again, and with which wish; None where nothing is open.
    """

    piece: str
    names: tuple[str, str]
    takes: tuple[str, str]
    came: tuple[str, ...] = ()
    trying: tuple[int, str] | None = None


@dataclass(frozen=True)
class Lesson:
    """One pupil's kept takes of one day, the earliest first. said: what the pupil said of them, the last one last.

    asked: the wish that was pressed last on that day, in its words, unless it came since.
    """

    pupil_id: str
    pupil: str
    day: date
    played: tuple[Played, ...] = ()
    pair: Pair | None = None
    said: tuple[str, ...] = ()
    asked: str = ""

    @property
    def names(self) -> tuple[str, ...]:
        """Nickname, titles and characters: they are taken as they are, whatever words they hold."""
        said = [self.pupil, *(one.piece for one in self.played), *(one.character for one in self.played)]
        return tuple(dict.fromkeys(name for name in said if name))


def lesson_of(studio: Studio, pupil_id: str, day: date | None = None) -> Lesson:
    """A pupil's lesson on a day of the studio's time zone; without one, the last on which anything was kept.

    Raises UnknownName on a pupil who is not in the register.
    """
    pupil = studio.pupil(pupil_id)
    kept = [take for take in studio.takes(pupil=pupil_id, state="kept") if not take.is_model]
    day = day or (_day(studio, kept[0]) if kept else studio.today())
    takes = [take for take in reversed(kept) if _day(studio, take) == day]
    pieces = {piece.id: piece for piece in studio.pieces()}
    rows = []
    for take in takes:
        piece = pieces.get(take.piece_id or "")
        title, warm = ("", False) if piece is None else (piece.title, piece.is_warmup)
        findings, to_the_end = _heard(studio, take)
        rows.append(Played(take.id, title, take.character, take.manner, warm, findings, to_the_end))
    said = tuple(remark.said for take in takes for remark in studio.remarks(take.id, by="pupil"))
    wish = pressed(studio, pupil_id, day)
    asked = "" if wish is None else wish.said
    return Lesson(pupil_id, pupil.nickname, day, tuple(rows), _pair(studio, rows), said, asked)


def _day(studio: Studio, take: StoredTake) -> date:
    return take.started_utc.astimezone(studio.settings.zone).date()


def _heard(studio: Studio, take: StoredTake) -> tuple[tuple[Finding, ...], bool]:
    """What was kept of it, else what is heard now; music of the pupil's own is never held against anything."""
    if take.manner == "own" or take.piece_id is None:
        return (), False
    kept = studio.reading(take.id)
    with suppress(StudioError, TargetError):
        if kept is not None:
            findings, following, target = kept.findings, kept.following, studio.target(kept.target_id).target
        else:
            reading = look_at(studio, take.id)
            findings, following, target = reading.findings, reading.following, reading.target
        return ((), False) if following.lost else (findings, _to_the_end(following, target))
    return (), False


def _to_the_end(following: Following, target: Target) -> bool:
    bars = target.notes["bar"]
    return [(p["first_bar"], p["last_bar"]) for p in following.passes] == [(bars.min(), bars.max())]


def _pair(studio: Studio, rows: Sequence[Played]) -> Pair | None:
    """The newest two takes of one tune in two characters."""
    for newer in reversed(rows):
        for older in reversed(rows[: rows.index(newer)]):
            differ = newer.character and older.character and newer.character != older.character
            if differ and newer.piece and newer.piece == older.piece and newer.findings and older.findings:
                with suppress(StudioError, TargetError):
                    return seen(
                        (older.take_id, newer.take_id, *_hangs_on(studio, older), *_hangs_on(studio, newer)),
                        lambda o=older, n=newer: _pair_of(beside(studio, o.take_id, n.take_id), o, n),  # type: ignore[misc]
                        small=True,
                    )
    return None


def _hangs_on(studio: Studio, played: Played) -> tuple[Hashable, ...]:
    """All that a comparison with this take is made from: what it is called, its music, its piano, the limits."""
    take = studio.take(played.take_id)
    known = studio.survey_of(take.instrument)
    music = studio.target_of(take.piece_id).id if take.piece_id else ""
    called = (played.piece, take.character, repr(studio.asked(take.character)))
    practice = read_practice(studio.folder.own_practice)
    return (*called, music, take.instrument, known and known.id, take.file, *take.flags, *practice.rows.values())


def _pair_of(comparison: Comparison, older: Played, newer: Played) -> Pair:
    came = tuple(d.wish for d in comparison.dimensions if d.outcome == "asked and heard" and d.wish)
    names, takes = (older.character, newer.character), (older.take_id, newer.take_id)
    return Pair(newer.piece, names, takes, came, comparison.open_wish(*_OPEN))
