"""How pages call takes: by piece, pupil and character, and by the day they were played."""

from __future__ import annotations

from dataclasses import dataclass

from keysense.studio.rows import StoredTake
from keysense.studio.studio import Studio
from keysense.targets.target import Mark, Target
from keysense.words import word

__all__ = ["NamedTake", "asked_marks", "name_takes"]


@dataclass(frozen=True)
class NamedTake:
    """A take with the words it goes by; ``when`` is just now, today, yesterday, or a date."""

    take: StoredTake
    pupil: str
    piece: str
    when: str

    @property
    def title(self) -> str:
        """What stands at the head of its page: the character, else the piece, else that it has no name yet."""
        return self.take.character or self.piece or word("take.unnamed")

    @property
    def who(self) -> str:
        """Whose playing it is: the pupil's, or the teacher's own."""
        return word("take.model") if self.take.is_model else self.pupil

    @property
    def above(self) -> str:
        """The small line over the title."""
        piece = self.piece if self.take.character else ""
        return ", ".join(part for part in (piece, self.who, self.when) if part)


def name_takes(studio: Studio, takes: list[StoredTake]) -> list[NamedTake]:
    """Each take with its pupil's nickname, its piece's title and its day."""
    pupils = {pupil.id: pupil.nickname for pupil in studio.pupils()}
    pieces = {piece.id: piece.title for piece in studio.pieces()}
    return [
        NamedTake(take, pupils.get(take.pupil_id or "", ""), pieces.get(take.piece_id or "", ""), _when(studio, take))
        for take in takes
    ]


def asked_marks(studio: Studio, character: str, target: Target) -> tuple[Mark, ...]:
    """What was asked for: the marks of the page, its layer for this character, and the character's own marks."""
    known = studio.character(character) if character else None
    return (*target.marks_asked(character), *(known.marks if known else ()))


def _when(studio: Studio, take: StoredTake) -> str:
    zone = studio.settings.zone
    day = take.started_utc.astimezone(zone).date()
    if (studio.now() - take.started_utc).total_seconds() < _JUST_NOW_S:
        return word("when.just_now")
    if day == studio.today():
        return word("when.today", time=take.started_utc.astimezone(zone).strftime("%H.%M"))
    return word("when.day", day=day.day, month=word(f"month.{day.month}"))


_JUST_NOW_S = 600
