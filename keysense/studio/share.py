"""The child's share, kept: what was guessed, said, drawn and called by a name of their own.

Conventions
    A guess is what the ear said first: the first one stands, and none is ever counted. A line drawn before playing
    belongs to the takes of that pupil, tune and character on the same day, played after it, until another wish is
    pressed. Heights are shares of the
    way from this piano's softest (0) to its loudest (1). Everything goes with its take or its pupil.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Literal

from sqlalchemy import delete, or_, select

from keysense.errors import KeysenseError, StudioError, UnknownName
from keysense.studio.base import CONTEXT, once_a_moment
from keysense.studio.register import Register
from keysense.studio.rows import StoredTake
from keysense.studio.tables_child import DrawnWishRow, GuessRow, OwnWordRow, RemarkRow
from keysense.studio.tables_lesson import AgainRow
from keysense.studio.takes import Takes

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

__all__ = ["DrawnWish", "OwnWord", "Remark", "Share", "forget_name_said", "forget_share"]

_LONGEST = 300
_MOST_PLACES = 64


@dataclass(frozen=True)
class Remark:
    """One short line about a take, by its pupil or by the teacher."""

    id: str
    take_id: str
    said_by: str
    said: str


@dataclass(frozen=True)
class DrawnWish:
    """A line drawn before playing: its heights (0..1) stand at equal distances between two quarters of the tune."""

    id: str
    first_quarter: float
    last_quarter: float
    heights: tuple[float, ...]
    drawn_utc: datetime


@dataclass(frozen=True)
class OwnWord:
    """What a pupil calls a character, and what they wish of it; both empty where nothing was said."""

    word: str = ""
    wish: str = ""


class Share(Register, Takes):
    """What a child adds to the takes of a studio, and what is said about them."""

    def guess(self, ref: str, question: str, choice: str, *, beside: str | None = None) -> str:
        """Keep a guess about a take, or about two; gives the guess that stands: the first one."""
        take_id, beside_id = self.take(ref).id, None if beside is None else self.take(beside).id
        kept = self.guessed(take_id, question, beside=beside_id)
        if kept is not None:
            return kept
        with self._store.write() as session:
            row = GuessRow(take_id=take_id, beside_id=beside_id, question=question, choice=choice)
            row.guessed_utc = self.now()
            session.add(row)
        return choice

    def guessed(self, take_id: str, question: str, *, beside: str | None = None) -> str | None:
        """What was guessed; None where nobody was asked yet."""
        query = select(GuessRow.choice).where(
            GuessRow.take_id == take_id, GuessRow.question == question, GuessRow.beside_id == beside
        )
        with self._store.read() as session:
            return session.scalars(query.order_by(GuessRow.guessed_utc)).first()

    def asked_today(self, take: StoredTake, question: str) -> bool:
        """Whether this pupil was asked this about this tune in this character already, on the day of the take."""
        with self._store.read() as session:
            asked = set(session.scalars(select(GuessRow.take_id).where(GuessRow.question == question)))
        if not asked or take.pupil_id is None:
            return False
        others = (one for one in self.takes(pupil=take.pupil_id, state="kept") if one.id in asked - {take.id})
        return any(self._same_lesson(one, take) for one in others)

    def remark(self, ref: str, said: str, *, by: Literal["pupil", "teacher"]) -> Remark:
        """Keep a line about a take. Raises StudioError on an empty one."""
        take, said = self.take(ref), _one_line(said)
        if take.pupil_id is not None:
            self.must_agree(take.pupil_id)
        row = RemarkRow(take_id=take.id, said_by=by, said=said, written_utc=self.now())
        with self._store.write() as session:
            session.add(row)
        return Remark(row.id, row.take_id, row.said_by, row.said)

    def change_remark(self, ref: str, remark_id: str, said: str) -> None:
        """Other words for a remark of this take; no words take it away."""
        take_id = self.take(ref).id
        with self._store.write() as session:
            row = session.get(RemarkRow, remark_id)
            if row is None or row.take_id != take_id:
                raise UnknownName("that remark is not there any more")
            if said.strip():
                row.said = _one_line(said)
            else:
                session.delete(row)

    def remarks(self, take_id: str, *, by: str | None = None) -> list[Remark]:
        """The remarks on a take, the first one first."""
        return [remark for remark in self._remarks(take_id) if by in (None, remark.said_by)]

    @once_a_moment
    def _remarks(self, take_id: str) -> list[Remark]:
        query = select(RemarkRow).where(RemarkRow.take_id == take_id)
        with self._store.read() as session:
            rows = session.scalars(query.order_by(RemarkRow.written_utc, RemarkRow.id))
            return [Remark(row.id, row.take_id, row.said_by, row.said) for row in rows]

    def draw_wish(
        self, pupil_id: str, piece_id: str, heights: Sequence[float], *, span: tuple[float, float], character: str = ""
    ) -> DrawnWish:
        """Keep the line drawn for the next takes, instead of one drawn since the last of them.

        Raises StudioError on fewer than two places, or heights outside 0 to 1.
        """
        self.must_agree(pupil_id)
        if not 2 <= len(heights) <= _MOST_PLACES or not all(0.0 <= height <= 1.0 for height in heights):
            raise StudioError("a drawn line needs at least two places between soft and loud: draw it once more")
        row = DrawnWishRow(
            pupil_id=pupil_id, piece_id=piece_id, character=character, first_quarter=span[0], last_quarter=span[1],
            heights=[round(float(height), 3) for height in heights], drawn_utc=self.now(),
        )  # fmt: skip
        with self._store.write() as session:
            session.add(row)
        return _drawn(row)

    def drawn_wish(self, take: StoredTake) -> DrawnWish | None:
        """The line drawn before this take: of its pupil, tune and character, on its day, and no other wish since.

        None where there is none.
        """
        if take.pupil_id is None or take.piece_id is None:
            return None
        query = select(DrawnWishRow).where(
            DrawnWishRow.pupil_id == take.pupil_id,
            DrawnWishRow.piece_id == take.piece_id,
            DrawnWishRow.character == take.character,
            DrawnWishRow.drawn_utc <= take.started_utc,
        )
        with self._store.read() as session:
            row = session.scalars(query.order_by(DrawnWishRow.drawn_utc.desc())).first()
            asked = session.get(AgainRow, take.id)
        if row is None or self._day(row.drawn_utc) != self._day(take.started_utc):
            return None
        return None if asked is not None and self._asked_since(row, asked.before_id, asked.said) else _drawn(row)

    def waiting_wish(self, pupil_id: str, piece_id: str, character: str = "") -> DrawnWish | None:
        """The newest line of today that a pupil drew for a tune; None where there is none."""
        query = select(DrawnWishRow).filter_by(pupil_id=pupil_id, piece_id=piece_id, character=character)
        with self._store.read() as session:
            row = session.scalars(query.order_by(DrawnWishRow.drawn_utc.desc())).first()
        if row is None or self._day(row.drawn_utc) != self.today():
            return None
        kept = self.recall(CONTEXT)
        asked = self._asked_since(row, str(kept.get("again", "")), str(kept.get("said", "")))
        return None if asked else _drawn(row)

    def rub_out(self, wish_id: str) -> None:
        """The drawn line is taken away, from the takes played after it too."""
        with self._store.write() as session:
            session.execute(delete(DrawnWishRow).where(DrawnWishRow.id == wish_id))

    def own_word(self, pupil_id: str | None, character: str) -> OwnWord:
        """What a pupil calls this character, and wishes of it."""
        with self._store.read() as session:
            row = session.get(OwnWordRow, (pupil_id, character)) if pupil_id and character else None
            return OwnWord() if row is None else OwnWord(row.word, row.wish)

    def set_own_word(self, pupil_id: str, character: str, *, word: str = "", wish: str = "") -> OwnWord:
        """Keep both; where both are empty nothing is kept. Raises StudioError without a character."""
        self.must_agree(pupil_id)
        if not character:
            raise StudioError("a word of your own belongs to a character: give the take one first")
        word, wish = " ".join(word.split())[:80], " ".join(wish.split())[:_LONGEST]
        with self._store.write() as session:
            if word or wish:
                session.merge(OwnWordRow(pupil_id=pupil_id, character=character, word=word, wish=wish))
            else:
                session.execute(delete(OwnWordRow).filter_by(pupil_id=pupil_id, character=character))
        return OwnWord(word, wish)

    def _asked_since(self, row: DrawnWishRow, before_id: str, said: str) -> bool:
        """Whether something else was asked once the line had been played: a line holds until another wish."""
        with suppress(KeysenseError):  # the take it was asked of may be gone
            return bool(said and before_id) and self.take(before_id).started_utc >= row.drawn_utc
        return False

    def _same_lesson(self, one: StoredTake, other: StoredTake) -> bool:
        same = (one.piece_id, one.character) == (other.piece_id, other.character)
        return same and self._day(one.started_utc) == self._day(other.started_utc)

    def _day(self, moment: datetime) -> object:
        return moment.astimezone(self.settings.zone).date()


def forget_share(session: Session, take_id: str) -> None:
    """A take is being erased: what was guessed and said about it goes with it."""
    session.execute(delete(GuessRow).where(or_(GuessRow.take_id == take_id, GuessRow.beside_id == take_id)))
    session.execute(delete(RemarkRow).where(RemarkRow.take_id == take_id))


def forget_name_said(session: Session, pupil_id: str, nickname: str) -> None:
    """A pupil is being erased: their lines and words go, and their nickname goes out of what others said."""
    for table in (DrawnWishRow, OwnWordRow):
        session.execute(delete(table).where(table.pupil_id == pupil_id))
    name = re.compile(rf"(?<!\w){re.escape(nickname)}(?!\w)", re.IGNORECASE)
    for row in session.scalars(select(RemarkRow)):
        row.said = name.sub("…", row.said)
    for kept in session.scalars(select(OwnWordRow)):
        kept.word, kept.wish = name.sub("…", kept.word), name.sub("…", kept.wish)


def _one_line(said: str) -> str:
    line = " ".join(said.split())[:_LONGEST]
    if not line:
        raise StudioError("a remark needs at least one word")
    return line


def _drawn(row: DrawnWishRow) -> DrawnWish:
    return DrawnWish(row.id, row.first_quarter, row.last_quarter, tuple(row.heights), row.drawn_utc)
