"""Pupils and what their guardians agreed to. A nickname is enough; without an agreement nothing is kept."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from sqlalchemy import select

from keysense.errors import AgreementError, StudioError, UnknownName
from keysense.studio.base import CONTEXT, StudioBase, once_a_moment
from keysense.studio.matching import find, words_of
from keysense.studio.rows import Agreement, Pupil
from keysense.studio.tables import AgreementRow, PupilRow

__all__ = ["Register"]

TEACH = "teach"


class Register(StudioBase):
    """The pupils of a studio."""

    def add_pupil(
        self, nickname: str, *, agreed_by: str, on: date | str, purpose: str = TEACH, until: date | str | None = None
    ) -> Pupil:
        """A new pupil with the agreement that lets takes be kept.

        Raises StudioError where the nickname is taken or no name, or the date is none or lies ahead.
        """
        row = PupilRow(nickname=self._free(nickname), added_utc=self.now())
        agreement = self._agreement(agreed_by, on, purpose, until)
        with self._store.write() as session:
            session.add(row)
            session.flush()
            agreement.pupil_id = row.id
            session.add(agreement)
        self._log.info("a pupil was added")
        return self.pupil(row.id)

    def call_pupil(self, pupil_id: str, nickname: str) -> Pupil:
        """Another nickname for a pupil who is in the register; all that is kept stays hers or his.

        Raises StudioError where the nickname is another child's or no name.
        """
        nickname = self._free(nickname, but=self.pupil(pupil_id).id)
        with self._store.write() as session:
            session.get_one(PupilRow, pupil_id).nickname = nickname
        self._log.info("a nickname was mended")
        return self.pupil(pupil_id)

    def agree(
        self, pupil_id: str, *, agreed_by: str, on: date | str, purpose: str = TEACH, until: date | str | None = None
    ) -> Pupil:
        """A further or renewed agreement of a pupil who is in the register."""
        row = self._agreement(agreed_by, on, purpose, until)
        row.pupil_id = self.pupil(pupil_id).id
        with self._store.write() as session:
            session.add(row)
        return self.pupil(pupil_id)

    def withdraw(self, pupil_id: str, *, purpose: str = TEACH) -> Pupil:
        """The agreement is taken back: from now on nothing is kept, and what was kept is no longer shown."""
        with self._store.write() as session:
            for row in session.scalars(
                select(AgreementRow).where(AgreementRow.pupil_id == pupil_id, AgreementRow.purpose == purpose)
            ):
                row.withdrawn_utc = row.withdrawn_utc or self.now()
        if self.recall(CONTEXT).get("pupil") == pupil_id:
            self.remember(CONTEXT, {})  # the next take is not taken for this child any more
        self._log.info("an agreement was taken back")
        return self.pupil(pupil_id)

    @once_a_moment
    def pupils(self) -> list[Pupil]:
        """Everyone in the register, by nickname."""
        with self._store.read() as session:
            rows = session.scalars(select(PupilRow).order_by(PupilRow.nickname)).all()
            agreements: dict[str, list[AgreementRow]] = {}
            for row in session.scalars(select(AgreementRow).order_by(AgreementRow.agreed_on, AgreementRow.id)):
                agreements.setdefault(row.pupil_id, []).append(row)
        return [self._pupil(row, agreements.get(row.id, ())) for row in rows]

    @once_a_moment
    def pupil(self, pupil_id: str) -> Pupil:
        """One pupil by id; raises UnknownName."""
        with self._store.read() as session:
            row = session.get(PupilRow, pupil_id)
            kept = session.scalars(
                select(AgreementRow)
                .where(AgreementRow.pupil_id == pupil_id)
                .order_by(AgreementRow.agreed_on, AgreementRow.id)
            ).all()
        if row is None:
            raise UnknownName("that pupil is not in the register any more")
        return self._pupil(row, kept)

    def find_pupil(self, text: str) -> Pupil:
        """A pupil by a forgiving name; raises UnknownName, or AmbiguousName listing who may be meant."""
        pupils = {pupil.id: pupil for pupil in self.pupils()}
        return pupils[find("pupil", text, {key: pupil.nickname for key, pupil in pupils.items()})]

    def must_agree(self, pupil_id: str) -> Pupil:
        """The pupil, if takes may be kept today; raises AgreementError saying how to write the agreement down."""
        pupil = self.pupil(pupil_id)
        if not pupil.may_keep:
            raise AgreementError(
                f"no agreement covers {pupil.nickname} today, so this can be looked at but not kept: renew it on the "
                f"page of all that is kept of {pupil.nickname}, or by "
                f"keysense pupil agree {pupil.nickname} --agreed-by WHO --on DATE"
            )
        return pupil

    def _free(self, nickname: str, but: str = "") -> str:
        """A nickname as it is written down; raises StudioError where another pupil than ``but`` goes by it."""
        nickname = " ".join(nickname.split())
        if not words_of(nickname):
            raise StudioError("a pupil needs a nickname of at least one letter")
        if any(words_of(pupil.nickname) == words_of(nickname) for pupil in self.pupils() if pupil.id != but):
            raise StudioError(f"{nickname} is in the register already: give the other child another nickname")
        return nickname

    def _pupil(self, row: PupilRow, kept: Sequence[AgreementRow]) -> Pupil:
        agreements = tuple(
            Agreement(a.purpose, a.agreed_by, a.agreed_on, a.until, a.withdrawn_utc is not None) for a in kept
        )
        standing = [a for a in agreements if a.purpose == TEACH and a.stands(self.today())]
        latest = standing[-1] if standing else None
        return Pupil(
            row.id,
            row.nickname,
            latest.agreed_by if latest else "",
            latest.agreed_on if latest else None,
            row.state,
            latest is not None,
            agreements,
        )

    def _agreement(self, agreed_by: str, on: date | str, purpose: str, until: date | str | None) -> AgreementRow:
        if not agreed_by.strip():
            raise AgreementError("an agreement needs the person who gave it: --agreed-by WHO")
        day, last = _day(on), None if until is None else _day(until)
        if day > self.today():
            raise AgreementError(f"the agreement is dated {day}, which is still to come: give the day it was given")
        if last is not None and last < day:
            raise AgreementError(f"the agreement ends on {last}, before it was given on {day}")
        return AgreementRow(agreed_by=agreed_by.strip(), agreed_on=day, purpose=purpose, until=last)


def _day(text: date | str) -> date:
    if isinstance(text, datetime):
        return text.date()
    if isinstance(text, date):
        return text
    try:
        return date.fromisoformat(text.strip())
    except ValueError as cause:
        raise AgreementError(f"{text!r} is no date: write year-month-day, such as 2026-09-01") from cause
