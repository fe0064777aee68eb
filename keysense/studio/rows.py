"""What the studio hands out: frozen rows that stay true after the database has moved on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Literal, NamedTuple

from keysense.finding import Finding
from keysense.following.following import Following
from keysense.targets.target import Target

__all__ = [
    "MANNERS",
    "Agreement",
    "Context",
    "JournalSpan",
    "Paper",
    "PaperKind",
    "Piece",
    "Pupil",
    "StoredReading",
    "StoredTake",
    "StoredTarget",
    "TakeState",
]

PaperKind = Literal["note", "slip", "card"]

TakeState = Literal["waiting", "kept", "dropped", "replaced", "erased"]

# How a take was played, in the trade's words (common practice, no source).
MANNERS = ("first sight", "by ear", "from the page", "from memory", "own")


class JournalSpan(NamedTuple):
    """Where in the listening a take lies: the journal's file name, first byte, and the byte after the last."""

    journal: str
    start: int
    end: int


@dataclass(frozen=True)
class Agreement:
    """What a guardian agreed to. ``until`` None: until taken back. ``withdrawn``: it was taken back."""

    purpose: str
    agreed_by: str
    agreed_on: date
    until: date | None = None
    withdrawn: bool = False

    def stands(self, today: date) -> bool:
        """Whether it covers today."""
        return not self.withdrawn and self.agreed_on <= today and (self.until is None or today <= self.until)


@dataclass(frozen=True)
class Pupil:
    """A pupil. ``agreed_by`` and ``agreed_on`` are of the agreement to teach, empty and None without one.

    ``may_keep``: that agreement stands today, so takes may be kept.
    """

    id: str
    nickname: str
    agreed_by: str = ""
    agreed_on: date | None = None
    state: str = "learning"
    may_keep: bool = False
    agreements: tuple[Agreement, ...] = ()


@dataclass(frozen=True)
class Piece:
    """A piece or, with ``is_warmup``, a standing warm-up (``warmup_hand``: "R", "L" or "" for both)."""

    id: str
    title: str
    source_note: str = ""
    is_warmup: bool = False
    warmup_hand: str = ""


@dataclass(frozen=True)
class StoredTarget:
    """One version of a piece's target. ``kind``: score, midi, model or notes."""

    id: str
    piece_id: str
    version: int
    kind: str
    target: Target


@dataclass(frozen=True)
class StoredTake:
    """A take as the studio knows it, without its notes (`Studio.take_notes` gives those).

    started_utc: when it was played; added_utc: when the studio got it. carried: its name came from the sticky
    context and nobody has said yes to it yet. named_line: the words it was named by.
    """

    id: str
    started_utc: datetime
    added_utc: datetime
    duration_s: float
    n: int
    state: TakeState
    pupil_id: str | None = None
    piece_id: str | None = None
    character: str = ""
    manner: str = ""
    flags: tuple[str, ...] = ()
    instrument: str = ""
    named_line: str = ""
    is_model: bool = False
    carried: bool = False
    source: str = "journal"
    file: str = ""
    journal_span: JournalSpan | None = None
    dropped_utc: datetime | None = None


@dataclass(frozen=True)
class StoredReading:
    """What was heard in a take, as kept. ``body`` is the whole reading as JSON, the same as ``look --json`` prints."""

    take_id: str
    target_id: str
    recipe: int
    character: str
    read_utc: datetime
    lost: bool
    findings: tuple[Finding, ...]
    following: Following
    body: dict[str, Any]


@dataclass(frozen=True)
class Paper:
    """A paper of one lesson: the note to the family, the home slip, or the child's card.

    text: part -> its words. basis: ids of the takes it speaks of, the one pictured first. declined: there is to be no
    such paper this time. A paper that nobody signed is a draft.
    """

    id: str
    kind: PaperKind
    pupil_id: str
    lesson_day: date
    text: dict[str, str]
    basis: tuple[str, ...] = ()
    declined: bool = False
    signed_by: str = ""
    signed_utc: datetime | None = None

    @property
    def is_signed(self) -> bool:
        """Somebody stands for every word of it."""
        return self.signed_utc is not None


@dataclass(frozen=True)
class Context:
    """What the next take is taken for, until somebody says otherwise."""

    pupil_id: str | None = None
    piece_id: str | None = None
    character: str = ""
    manner: str = ""

    @property
    def is_empty(self) -> bool:
        """Nothing is carried."""
        return self == Context()
