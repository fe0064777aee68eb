"""Papers kept: drafted, edited, signed by a person. What nobody signed cannot leave."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy import select

from keysense.errors import StudioError, UnknownName, UnsignedError
from keysense.studio.register import TEACH, Register
from keysense.studio.rows import Paper, PaperKind
from keysense.studio.tables import PaperRow

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

__all__ = ["Papers", "forget_name", "forget_take"]

_SIGNER = "signer"  # under which name the studio remembers who signed last


class Papers(Register):
    """The papers of a studio."""

    def paper(self, kind: PaperKind, pupil_id: str, day: date) -> Paper | None:
        """The paper of one lesson as it is kept; None where it was not touched yet, or may not be shown."""
        query = select(PaperRow).where(PaperRow.kind == kind, PaperRow.pupil_id == pupil_id, PaperRow.lesson_day == day)
        with self._store.read() as session:
            row = session.scalar(query)
        return None if row is None or not self._may_show(pupil_id) else _paper(row)

    def papers(self, pupil_id: str, *, kind: PaperKind | None = None) -> list[Paper]:
        """A pupil's papers, the newest lesson first; none of a pupil whose agreement was taken back."""
        query = select(PaperRow).where(PaperRow.pupil_id == pupil_id)
        if kind is not None:
            query = query.where(PaperRow.kind == kind)
        query = query.order_by(PaperRow.lesson_day.desc(), PaperRow.kind)
        with self._store.read() as session:
            rows = session.scalars(query).all()
        return [_paper(row) for row in rows] if rows and self._may_show(pupil_id) else []

    def keep_paper(
        self,
        kind: PaperKind,
        pupil_id: str,
        day: date,
        text: Mapping[str, str],
        *,
        basis: Sequence[str] = (),
        declined: bool = False,
    ) -> Paper:
        """Keep the words of a paper as a draft: other words than those signed take the signature away.

        basis: ids of the takes it speaks of; without any, those that were kept stay. Raises AgreementError where no
        agreement covers keeping it.
        """
        self.must_agree(pupil_id)
        words = {part: said.strip() for part, said in text.items()}
        with self._store.write() as session:
            row = session.scalar(select(PaperRow).filter_by(kind=kind, pupil_id=pupil_id, lesson_day=day))
            if row is None:
                row = PaperRow(kind=kind, pupil_id=pupil_id, lesson_day=day, text={}, basis=[], signed_by="")
                session.add(row)
            if row.text != words or row.declined != declined:
                row.signed_by, row.signed_utc = "", None
            row.text, row.declined, row.written_utc = words, declined, self.now()
            row.basis = list(basis) or row.basis
        return _paper(row)

    def sign_paper(self, paper_id: str, by: str) -> Paper:
        """A person stands for every word; raises StudioError without a name, or where there is to be no such paper."""
        by = " ".join(by.split())[:120]
        if not by:
            raise StudioError("a paper is signed by a person: write your name first")
        with self._store.write() as session:
            row = self._paper_row(session, paper_id)
            if row.declined or not any(row.text.values()):
                raise StudioError("there is nothing on this paper to sign: write on it first")
            row.signed_by, row.signed_utc = by, self.now()
        self.remember(_SIGNER, {"name": by})
        self._log.info("a %s was signed", row.kind)
        return _paper(row)

    def reopen_paper(self, paper_id: str) -> Paper:
        """A draft again, to be changed: its signature is gone."""
        with self._store.write() as session:
            row = self._paper_row(session, paper_id)
            row.signed_by, row.signed_utc, row.declined = "", None, False
        return _paper(row)

    def leaving(self, paper: Paper | None) -> Paper:
        """The paper, if it may leave the studio; raises UnsignedError on a draft."""
        if paper is None or not paper.is_signed:
            raise UnsignedError(
                "this is a draft, and no draft leaves: read it, change what you like, and sign it first"
            )
        return paper

    @property
    def signer(self) -> str:
        """Who signed last; empty before the first time."""
        return str(self.recall(_SIGNER).get("name", ""))

    def _paper_row(self, session: Session, paper_id: str) -> PaperRow:
        row = session.get(PaperRow, paper_id)
        if row is None or not self._may_show(row.pupil_id):
            raise UnknownName("that paper is not in the studio any more")
        return row

    def _may_show(self, pupil_id: str) -> bool:
        """The agreement to teach was not taken back."""
        teach = [agreement for agreement in self.pupil(pupil_id).agreements if agreement.purpose == TEACH]
        return not teach or any(not agreement.withdrawn for agreement in teach)


def forget_take(session: Session, take_id: str) -> None:
    """A take is being erased: drafts that speak of it go with it, what was signed no longer names it."""
    for row in session.scalars(select(PaperRow)):
        if take_id not in row.basis:
            continue
        if row.signed_utc is None and not row.declined:
            session.delete(row)
        else:
            row.basis = [other for other in row.basis if other != take_id]


def forget_name(session: Session, nickname: str) -> None:
    """A pupil is being erased: the nickname goes out of the papers of others too."""
    name = re.compile(rf"(?<!\w){re.escape(nickname)}(?!\w)", re.IGNORECASE)
    for row in session.scalars(select(PaperRow)):
        said = {part: name.sub("…", text) for part, text in row.text.items()}
        signed = name.sub("…", row.signed_by)
        if (said, signed) != (row.text, row.signed_by):
            row.text, row.signed_by = said, signed


def _paper(row: PaperRow) -> Paper:
    return Paper(
        id=row.id,
        kind=row.kind,  # type: ignore[arg-type]
        pupil_id=row.pupil_id,
        lesson_day=row.lesson_day,
        text=dict(row.text),
        basis=tuple(row.basis),
        declined=row.declined,
        signed_by=row.signed_by,
        signed_utc=row.signed_utc,
    )
