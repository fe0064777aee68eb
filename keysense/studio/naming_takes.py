"""Giving takes their names, and keeping those whose pupil's guardian has agreed."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from keysense.errors import AmbiguousName, StudioError
from keysense.studio.marking import Marked
from keysense.studio.matching import find
from keysense.studio.naming import Proposal, propose
from keysense.studio.register import Register
from keysense.studio.rows import MANNERS, StoredTake
from keysense.studio.stored import stored_take
from keysense.studio.takes import Takes

__all__ = ["OTHER_PLAYING", "Naming"]

# The flag of a take that nobody named and no carried name fits.
OTHER_PLAYING = "other_playing"


class Naming(Register, Marked, Takes):
    """Names on takes."""

    def name_take(
        self,
        ref: str,
        *,
        pupil: str | None = None,
        piece: str | None = None,
        character: str | None = None,
        manner: str | None = None,
        line: str = "",
    ) -> StoredTake:
        """Say what a take is: pupil and piece by id, the rest in words; what is None stays as it was.

        A take with a pupil is kept from then on. Raises AgreementError where nothing lets it be kept: it then waits
        as before, to be looked at and wiped. Of the newest take pupil, piece and manner become the context of the next.
        """
        before = self.take(ref)
        if before.state == "dropped":
            raise StudioError(f"take {before.id[:8]} was dropped: keysense drop --undo takes it back")
        if before.state == "replaced":
            raise StudioError(f"take {before.id[:8]} was parted or put together: name what was made of it")
        pupil = before.pupil_id if pupil is None else pupil
        same = pupil == before.pupil_id and piece in (None, before.piece_id)
        if manner is None and before.carried and not same:
            manner = ""  # how another child, or another piece, was played says nothing of this one
        if pupil is not None:
            self.must_agree(pupil)
        if piece is not None:
            self.piece(piece)
        if manner:
            manner = find("way of playing", manner, {name: name for name in MANNERS})
        with self._store.write() as session:
            row = self._row(session, before.id)
            row.pupil_id = pupil
            row.piece_id = row.piece_id if piece is None else piece
            row.character = row.character if character is None else character
            row.manner = row.manner if manner is None else manner
            row.named_line = line or row.named_line
            row.carried = False
            row.flags = [flag for flag in row.flags if flag != OTHER_PLAYING]
            row.state = "kept" if pupil is not None or row.is_model else row.state
            context: dict[str, Any] = {"pupil": row.pupil_id, "piece": row.piece_id, "manner": row.manner}
        newest = self.takes(limit=1)
        if newest and newest[0].id == before.id:  # an earlier take named anew says nothing of what comes next
            self.set_context(**context)
        self._log.info("take %s was named", before.id[:8])
        return stored_take(row)

    def name_line(self, ref: str, text: str, *, accept: bool = False) -> Proposal:
        """Name a take by one free line, such as ``pip cat sleepy``.

        A clear line is applied at once (``applied`` is then true). Where something is to be asked, the proposal comes
        back unapplied with its question; ``accept`` applies it all the same, with an unknown word as a new character,
        unless two names fit alike. Raises AgreementError as `name_take`.
        """
        take = self.take(ref)
        proposal = self.propose(text)
        if not _clear(proposal, accept):
            return proposal
        pupil, piece, manner = (proposal.of(kind) for kind in ("pupil", "piece", "manner"))
        character = proposal.of("character")
        self.name_take(
            take.id,
            pupil=pupil.id if pupil else None,
            piece=piece.id if piece else None,
            character=character.id if character else proposal.new_character or None,
            manner=manner.id if manner else None,
            line=text,
        )
        return replace(proposal, applied=True)

    def name_next(self, text: str, *, accept: bool = False) -> Proposal:
        """Say by one free line what is played next, before it is played; what the line leaves out stays as it was,
        but how it is played only for the same pupil and piece.

        Applied (to the sticky context) and asked as in `name_line`; an empty line forgets what was said.
        """
        if not text.strip():
            self.set_context()
            return Proposal(text, applied=True)
        proposal = self.propose(text)
        if not _clear(proposal, accept):
            return proposal
        pupil, piece, manner = (proposal.of(kind) for kind in ("pupil", "piece", "manner"))
        character, now = proposal.of("character"), self.context
        if pupil is not None:
            self.must_agree(pupil.id)
        who, what = pupil.id if pupil else now.pupil_id, piece.id if piece else now.piece_id
        as_before = (who, what) == (now.pupil_id, now.piece_id)
        self.set_context(
            pupil=who,
            piece=what,
            character=character.id if character else proposal.new_character,
            manner=manner.id if manner else now.manner if as_before else "",
        )
        return replace(proposal, applied=True)

    def propose(self, text: str) -> Proposal:
        """What a free line means in this studio; nothing is changed."""
        characters = {word: (c.italian,) if c.italian else () for word, c in self.characters().items()}
        for word in self._words_used():
            characters.setdefault(word, ())
        return propose(
            text,
            pupils={pupil.id: pupil.nickname for pupil in self.pupils()},
            pieces={piece.id: piece.title for piece in self.pieces()},
            characters=characters,
        )

    def mark_model(self, ref: str, piece_id: str) -> StoredTake:
        """Keep a take as the teacher's own playing of a piece: it needs no guardian's agreement and no pupil."""
        with self._store.write() as session:
            row = self._row(session, ref)
            row.is_model, row.state, row.carried = True, "kept", False
            row.pupil_id, row.piece_id, row.character = None, piece_id, ""
        return stored_take(row)

    def settle(self, ref: str) -> StoredTake:
        """Keep a take under the name it carries; raises AgreementError where nothing lets it be kept."""
        take = self.take(ref)
        if take.pupil_id is None:  # of nobody: it waits
            return take
        self.must_agree(take.pupil_id)
        with self._store.write() as session:
            row = self._row(session, take.id)
            row.state, row.carried = "kept", False
        return stored_take(row)

    def uncarry(self, ref: str) -> StoredTake:
        """The name a take carries does not hold: it waits without one (flag ``other_playing``)."""
        with self._store.write() as session:
            row = self._row(session, ref)
            if row.state != "waiting":
                return stored_take(row)
            row.pupil_id, row.piece_id, row.character, row.manner, row.carried = None, None, "", "", False
            if row.source == "journal" and OTHER_PLAYING not in row.flags:  # a file was brought on purpose
                row.flags = [*row.flags, OTHER_PLAYING]
        return stored_take(row)

    def suggest(self, ref: str, piece_id: str) -> StoredTake:
        """A waiting take sounds like this piece: it carries that as its name until somebody says yes."""
        with self._store.write() as session:
            row = self._row(session, ref)
            if row.state == "waiting":
                row.character = row.character if row.piece_id == piece_id else ""
                row.piece_id, row.carried = piece_id, True
        return stored_take(row)

    def _words_used(self) -> list[str]:
        """Characters that takes were named by, also those without a file of wishes."""
        from sqlalchemy import select

        from keysense.studio.tables import TakeRow

        query = select(TakeRow.character).where(TakeRow.character != "", TakeRow.state == "kept").distinct()
        with self._store.read() as session:
            return sorted(session.scalars(query))


def _clear(proposal: Proposal, accept: bool) -> bool:
    """Whether a line may be applied; raises AmbiguousName where yes was said to what fits two names."""
    if accept and proposal.doubts:
        raise AmbiguousName(proposal.question)
    if proposal.unknown and not proposal.new_character:
        return False
    return proposal.sure or (accept and bool(proposal.meanings or proposal.new_character))
