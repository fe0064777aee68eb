"""Pieces, their targets in all versions, and the characters a studio knows."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from sqlalchemy import func, select

from keysense.errors import StudioError, UnknownName
from keysense.studio.base import StudioBase, once_a_moment
from keysense.studio.matching import find, words_of
from keysense.studio.rows import Piece, StoredTarget
from keysense.studio.stored import not_hidden
from keysense.studio.tables import PieceRow, TakeRow, TargetRow
from keysense.targets.target import Target

if TYPE_CHECKING:
    from keysense.comparing.characters import Character

__all__ = ["Shelf"]


class Shelf(StudioBase):
    """The pieces of a studio."""

    def add_piece(self, title: str, *, source_note: str = "") -> Piece:
        """A new piece, without a target yet; raises StudioError where the title is taken or none."""
        title = " ".join(title.split())
        if not words_of(title):
            raise StudioError("a piece needs a title of at least one letter")
        if any(words_of(piece.title) == words_of(title) for piece in self.pieces()):
            raise StudioError(f"{title!r} is on the shelf already: give this one another title")
        row = PieceRow(title=title, source_note=source_note, added_utc=self.now())
        with self._store.write() as session:
            session.add(row)
        return self.piece(row.id)

    @once_a_moment
    def pieces(self) -> list[Piece]:
        """Everything on the shelf, by title; a second piece of a name stands before a tenth."""
        with self._store.read() as session:
            pieces = [_piece(row) for row in session.scalars(select(PieceRow))]
        return sorted(pieces, key=lambda piece: (_counting(piece.title), piece.title))

    @once_a_moment
    def piece(self, piece_id: str) -> Piece:
        """One piece by id; raises UnknownName."""
        with self._store.read() as session:
            row = session.get(PieceRow, piece_id)
        if row is None:
            raise UnknownName("that piece is not on the shelf any more")
        return _piece(row)

    def find_piece(self, text: str) -> Piece:
        """A piece by a forgiving name; raises UnknownName, or AmbiguousName listing what may be meant."""
        pieces = {piece.id: piece for piece in self.pieces()}
        return pieces[find("piece", text, {key: piece.title for key, piece in pieces.items()})]

    def set_warmup(self, piece_id: str, *, hand: str = "", on: bool = True) -> Piece:
        """Make a piece the standing warm-up of a hand ("R", "L", or "" for both), or an ordinary piece again."""
        with self._store.write() as session:
            row = session.get(PieceRow, piece_id)
            if row is not None:
                row.is_warmup, row.warmup_hand = on, hand if on else ""
        return self.piece(piece_id)

    def warmups(self) -> list[Piece]:
        """The standing warm-ups, by title."""
        return [piece for piece in self.pieces() if piece.is_warmup]

    def add_target(self, piece_id: str, target: Target) -> StoredTarget:
        """A new version of a piece's target. The older ones stay, with everything heard against them."""
        self.piece(piece_id)
        return self._add_version(piece_id, target)

    def _add_version(self, piece_id: str, target: Target, **more: str) -> StoredTarget:
        """The next version; ``more`` is kept beside the target in its body."""
        with self._store.write() as session:
            version = session.scalar(select(func.max(TargetRow.version)).where(TargetRow.piece_id == piece_id)) or 0
            row = TargetRow(
                piece_id=piece_id,
                version=version + 1,
                kind=target.source.kind,
                body={**target.to_json(), **more},
                added_utc=self.now(),
            )
            session.add(row)
        return _target(row)

    @once_a_moment
    def target_of(self, piece_id: str, version: int | None = None) -> StoredTarget:
        """A piece's newest target, or one version of it; raises StudioError where it has none."""
        query = select(TargetRow).where(TargetRow.piece_id == piece_id).order_by(TargetRow.version.desc()).limit(1)
        if version is not None:
            query = query.where(TargetRow.version == version)
        with self._store.read() as session:
            row = session.scalar(query)
        if row is None:
            title = self.piece(piece_id).title
            raise StudioError(f"there is no music for {title!r} yet: keysense piece play-in {title!r}, or add a score")
        return _target(row)

    def target(self, target_id: str) -> StoredTarget:
        """One version of a target by its id; raises UnknownName."""
        with self._store.read() as session:
            row = session.get(TargetRow, target_id)
        if row is None:
            raise UnknownName("that music is not on the shelf any more")
        return _target(row)

    def targets(self) -> list[StoredTarget]:
        """The newest target of every piece that has one."""
        newest = select(TargetRow.piece_id, func.max(TargetRow.version).label("version")).group_by(TargetRow.piece_id)
        last = newest.subquery()
        query = select(TargetRow).join(
            last, (TargetRow.piece_id == last.c.piece_id) & (TargetRow.version == last.c.version)
        )
        with self._store.read() as session:
            return [_target(row) for row in session.scalars(query.order_by(TargetRow.added_utc))]

    def players(self) -> dict[str, int]:
        """How many pupils have a kept take of each piece, by piece id; pieces that nobody plays are not among them."""
        query = select(TakeRow.piece_id, func.count(TakeRow.pupil_id.distinct()))
        query = query.where(not_hidden(), TakeRow.state == "kept", ~TakeRow.is_model, TakeRow.pupil_id.is_not(None))
        with self._store.read() as session:
            rows = session.execute(query.where(TakeRow.piece_id.is_not(None)).group_by(TakeRow.piece_id)).all()
        return {str(piece_id): n for piece_id, n in rows}

    def characters(self) -> dict[str, Character]:
        """Every character the studio knows, by its word: those that ship, and over them the studio's own files."""
        from keysense.comparing.characters import read_character, shipped_characters

        known = {character.word: character for character in shipped_characters()}
        for path in sorted(self.folder.characters.glob("*.toml")):
            character = read_character(path)
            known[character.word] = character
        return known

    def asked(self, word: str) -> Character | None:
        """What was asked of a take named by a word: the character's wishes, or a character of that word without any.

        None where no word was said.
        """
        from keysense.comparing.characters import Character

        known = self.characters()
        return (known.get(word) or Character(word)) if word else None

    def character(self, word: str) -> Character | None:
        """The character of a word, forgivingly read; None for a word that names none. Raises AmbiguousName."""
        if not word:
            return None
        known = self.characters()
        try:
            return known[find("character", word, {name: name for name in known})]
        except UnknownName:
            return None


def _counting(title: str) -> tuple[tuple[int, str], ...]:
    """A title in parts, its numbers by their value."""
    return tuple((int(part), "") if part.isdecimal() else (-1, part) for part in re.split(r"([0-9]+)", title))


def _piece(row: PieceRow) -> Piece:
    return Piece(row.id, row.title, row.source_note, row.is_warmup, row.warmup_hand)


def _target(row: TargetRow) -> StoredTarget:
    return StoredTarget(row.id, row.piece_id, row.version, row.kind, Target.from_json(row.body))
