"""The music as it was asked for: notes in quarters, bars, phrases and the marks of the page.

Conventions
    Onsets and durations are in quarters from the first bar line, so a pick-up is negative or starts in bar 0.
    Tied notes are one note. Repeats are unfolded as played: a note of the second time has an id ending ``~2``, and
    `page_id` gives the id of the notehead on the page. Hands: ``R``, ``L`` or none (an empty string in the array).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, field, replace
from typing import Any, Literal, get_args

import numpy as np
import numpy.typing as npt

from keysense.errors import TargetError
from keysense.notes import finite_column, midi_column
from keysense.targets import columns
from keysense.targets.columns import BAR, HANDS, SPREAD, TARGET_NOTE

__all__ = ["BAR", "SPREAD", "TARGET_NOTE", "Mark", "MarkKind", "Source", "Target", "page_id"]

MarkKind = Literal[
    "slur", "staccato", "tenuto", "accent", "dynamic", "crescendo", "diminuendo", "fermata", "breath",
    "ritardando", "accelerando", "tempo", "pedal", "rest", "guide", "spread",
    "ornament",
]  # fmt: skip


@dataclass(frozen=True)
class Mark:
    """One mark of the page, or of a character's own layer, with its span in quarters.

    ``end_quarter`` is the onset of the last note a slur covers, and where the wedge closes for hairpins; for a dynamic
    it is where the next dynamic of that staff begins. A breath is a point: where the note before it ends.
    ``value`` holds the dynamic's letters, a tempo's quarters a minute, or the word as written. ``note_ids``: the notes
    under a slur, the notes that begin inside a hairpin, the chord under an articulation, the note before a breath.
    A chord to be spread (arpeggiated) tells in its ``value`` "up" or "down", where the page draws an arrow.
    ``layer`` is empty for the page, otherwise the character's word.
    """

    kind: MarkKind
    start_quarter: float
    end_quarter: float
    id: str
    hand: str = ""
    value: str = ""
    note_ids: tuple[str, ...] = ()
    layer: str = ""

    def __post_init__(self) -> None:
        """Raises TargetError on what no finding would ever ask about."""
        if self.kind not in get_args(MarkKind):
            raise TargetError(f"{self.kind!r} is no mark keysense knows: say one of {', '.join(get_args(MarkKind))}")
        if self.hand not in HANDS:
            raise TargetError(f'the hand of {self.kind} {self.id!r} is {self.hand!r}: say "R", "L" or "" for both')
        if not -np.inf < self.start_quarter <= self.end_quarter < np.inf:
            span = f"{self.start_quarter} to {self.end_quarter}"
            raise TargetError(f"{self.kind} {self.id!r} goes from {span}: give quarters, the end not before the start")


@dataclass(frozen=True)
class Source:
    """Where a target came from. ``musicxml`` is the text with stable note ids that the engraver reads."""

    kind: Literal["score", "midi", "model", "notes"] = "notes"
    title: str = ""
    file: str = ""
    musicxml: str = ""


@dataclass(frozen=True)
class Target:
    """What a take is followed against.

    notes: `TARGET_NOTE` rows sorted by onset; bars: `BAR` rows in the order played; phrases: float array (k, 2) of
    start and end in quarters; tempo_qpm: written tempo in quarters a minute, None if the page has none.
    spread: of a target played in, how the teacher's recordings play each note, one `SPREAD` row a note, else empty.
        ``takes``: recordings that have the note; ``timing_ratio``: the step from its onset over that recording's usual
        step of that value; ``hold_ratio``: key down over the written length at that pace. Each is a mean (timing: a
        geometric one) with the standard deviation between recordings (timing: of the logarithm); NaN where unknown.
    beside: what a second player plays on the same keyboard, on the same quarters; None where one plays alone.

    Its notes and bars cannot be written to: make another with `dataclasses.replace` and copies of them.
    """

    notes: npt.NDArray[np.void]
    bars: npt.NDArray[np.void]
    phrases: npt.NDArray[np.float64] = field(default_factory=lambda: np.zeros((0, 2)))
    marks: tuple[Mark, ...] = ()
    tempo_qpm: float | None = None
    source: Source = Source()
    spread: npt.NDArray[np.void] = field(default_factory=lambda: np.zeros(0, SPREAD))
    beside: Target | None = None

    def __post_init__(self) -> None:
        """Notes and bars are for reading from now on: what was laid out of them once is kept with the target."""
        self.notes.setflags(write=False)
        self.bars.setflags(write=False)

    @classmethod
    def from_notes(
        cls,
        *,
        onset_quarter: npt.ArrayLike,
        duration_quarter: npt.ArrayLike,
        pitch: npt.ArrayLike,
        hand: Sequence[str | None] | npt.NDArray[Any] | None = None,
        bar: npt.ArrayLike | None = None,
        id: Sequence[str] | npt.NDArray[Any] | None = None,
        bars_quarter: npt.ArrayLike | None = None,
        is_grace: npt.ArrayLike | None = None,
        phrases: npt.ArrayLike | None = None,
        marks: Sequence[Mark] = (),
        tempo_qpm: float | None = None,
        source: Source | None = None,
    ) -> Target:
        """A target from columns of equal length; sorted stably by onset alone, no row merged or dropped.

        hand: "R", "L" or None a note. bar: 1-based. bars_quarter[i]: where the i-th bar starts.
        Without it a bar starts at its first note; without ``bar`` too, bars of four quarters are counted from zero.
        Raises TargetError on columns of unequal length, NaN or infinite quarters, lengths below zero, pitches outside
        0..127, phrases that do not end after they start.
        """
        onset = finite_column("onset_quarter", onset_quarter, TargetError)
        n = len(onset)
        notes = np.zeros(n, TARGET_NOTE)
        notes["onset_quarter"] = onset
        notes["duration_quarter"] = columns.lengths("duration_quarter", duration_quarter, n)
        notes["pitch"] = columns.listed("pitch", midi_column("pitch", pitch, TargetError), n)
        notes["hand"] = columns.hands(hand, n)
        notes["is_grace"] = columns.graces(is_grace, n)
        notes["id"] = [f"n{i}" for i in range(n)] if id is None else columns.listed("id", id, n)
        notes["finger"] = 0
        if bar is None:
            bars = columns.bars(onset, notes["duration_quarter"], bars_quarter)
            notes["bar"] = columns.bar_of(onset, bars)
        else:
            notes["bar"] = columns.numbers("bar", bar, n)
            bars = columns.bars(onset, notes["duration_quarter"], bars_quarter, notes["bar"])
        notes = notes[np.argsort(notes["onset_quarter"], kind="stable")]
        return cls(notes, bars, columns.phrases(phrases), tuple(marks), columns.tempo(tempo_qpm), source or Source())

    @property
    def end_quarter(self) -> float:
        """Where the last written note ends."""
        if not len(self.notes):
            return 0.0
        return float((self.notes["onset_quarter"] + self.notes["duration_quarter"]).max())

    @property
    def hands(self) -> tuple[str, ...]:
        """The hands the target tells apart, right before left; empty where it tells none."""
        present = set(np.unique(self.notes["hand"]).tolist())
        return tuple(hand for hand in ("R", "L") if hand in present)

    def marks_asked(self, character: str = "") -> tuple[Mark, ...]:
        """The marks of the page together with the layer of one character."""
        return tuple(mark for mark in self.marks if mark.layer in ("", character))

    def with_marks(self, marks: Sequence[Mark]) -> Target:
        """The same target with other marks."""
        return replace(self, marks=tuple(marks))

    def to_json(self) -> dict[str, Any]:
        """Plain types only, for keeping; `from_json` gives back an equal target."""
        kept = {
            "notes": {name: self.notes[name].tolist() for name in TARGET_NOTE.names or ()},
            "bars": {name: self.bars[name].tolist() for name in BAR.names or ()},
            "phrases": self.phrases.tolist(),
            "marks": [asdict(mark) for mark in self.marks],
            "tempo_qpm": self.tempo_qpm,
            "source": asdict(self.source),
        }
        if len(self.spread):
            rows = {name: self.spread[name].tolist() for name in SPREAD.names or ()}
            kept["spread"] = {name: [None if x != x else x for x in column] for name, column in rows.items()}
        if self.beside is not None:
            kept["beside"] = self.beside.to_json()
        return kept

    @classmethod
    def from_json(cls, kept: dict[str, Any]) -> Target:
        """A target from what `to_json` gave."""
        return cls(
            _rows(kept["notes"], TARGET_NOTE),
            _rows(kept["bars"], BAR),
            np.asarray(kept["phrases"], float).reshape(-1, 2),
            tuple(Mark(**{**mark, "note_ids": tuple(mark["note_ids"])}) for mark in kept["marks"]),
            kept["tempo_qpm"],
            Source(**kept["source"]),
            _rows(kept["spread"], SPREAD) if "spread" in kept else np.zeros(0, SPREAD),
            cls.from_json(kept["beside"]) if "beside" in kept else None,
        )


def page_id(note_id: str) -> str:
    """The id of the notehead on the page: a repeat's second playing shares it."""
    return note_id.split("~", 1)[0]


def _rows(columns: dict[str, list[Any]], dtype: np.dtype[np.void]) -> npt.NDArray[np.void]:
    names = dtype.names or ()
    rows = np.zeros(len(columns[names[0]]), dtype)
    for name in names:
        rows[name] = [np.nan if value is None else value for value in columns[name]]
    return rows
