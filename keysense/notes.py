"""A take: the notes and pedal movements that came from the keys.

Conventions
    Times are seconds from the first event of the take, float64. ``release_s`` is when the key came up, never when
    the pedal did. A release velocity of 0 means that the instrument sends none.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from keysense.errors import NotesError

__all__ = ["LONGEST_TAKE_S", "NOTE", "PEDAL", "Take", "TakeMeta", "empty_pedals", "finite_column", "midi_column"]

NOTE = np.dtype(
    [
        ("onset_s", "f8"),
        ("release_s", "f8"),
        ("pitch", "u1"),
        ("velocity", "u1"),
        ("release_velocity", "u1"),
        ("channel", "u1"),
    ]
)
PEDAL = np.dtype([("time_s", "f8"), ("controller", "u1"), ("value", "u1")])

LONGEST_TAKE_S = 24 * 3600.0


@dataclass(frozen=True)
class TakeMeta:
    """What is known of a take beside its notes.

    ``flags`` are words such as ``cut`` (the cable went), ``still_held``, ``repeated_note_on``, ``layered``,
    ``one_velocity``, ``missing_release``: see `keysense.messages`.
    """

    file: str = ""
    recorded_utc: str = ""
    instrument: str = ""
    flags: tuple[str, ...] = ()


@dataclass(frozen=True)
class Take:
    """One playing, from the first key down to the last key up.

    notes: `NOTE` rows sorted by onset; pedals: `PEDAL` rows sorted by time.
    """

    notes: npt.NDArray[np.void]
    pedals: npt.NDArray[np.void]
    meta: TakeMeta = field(default_factory=TakeMeta)

    @classmethod
    def from_notes(
        cls,
        *,
        onset_s: npt.ArrayLike,
        release_s: npt.ArrayLike,
        pitch: npt.ArrayLike,
        velocity: npt.ArrayLike,
        pedals: npt.NDArray[np.void] | None = None,
        meta: TakeMeta | None = None,
    ) -> Take:
        """A take from columns of equal length; rows are sorted stably by onset, none is merged or dropped.

        pedals: `PEDAL` rows in any order. Raises NotesError on NaN or infinite times, on times that span more than a
        day (milliseconds passed as seconds), and on pitches, velocities or pedal values outside 0..127.
        """
        onset = finite_column("onset_s", onset_s)
        release = finite_column("release_s", release_s)
        notes = np.zeros(len(onset), NOTE)
        _fill(notes, "onset_s", onset)
        _fill(notes, "release_s", release)
        _fill(notes, "pitch", midi_column("pitch", pitch))
        _fill(notes, "velocity", midi_column("velocity", velocity))
        if len(onset) and onset.max() - onset.min() > LONGEST_TAKE_S:
            raise NotesError(
                f"onsets span {onset.max() - onset.min():.0f} s, more than a day: were milliseconds passed as seconds?"
            )
        notes = notes[np.argsort(notes["onset_s"], kind="stable")]
        return cls(notes, empty_pedals() if pedals is None else _pedal_rows(pedals), meta or TakeMeta())

    @property
    def duration_s(self) -> float:
        """Seconds from the first key down to the last key up; 0 for an empty take."""
        if not len(self.notes):
            return 0.0
        return float(self.notes["release_s"].max() - self.notes["onset_s"].min())

    def __len__(self) -> int:
        return len(self.notes)


def empty_pedals() -> npt.NDArray[np.void]:
    """No pedal movement at all."""
    return np.zeros(0, PEDAL)


def _pedal_rows(pedals: npt.NDArray[np.void]) -> npt.NDArray[np.void]:
    if getattr(getattr(pedals, "dtype", None), "names", None) != PEDAL.names:
        raise NotesError("pedals must be an array of rows time_s, controller, value: make it with keysense.notes.PEDAL")
    rows = pedals.reshape(-1)
    finite_column("pedals.time_s", rows["time_s"])
    midi_column("pedals.value", rows["value"])
    return rows[np.argsort(rows["time_s"], kind="stable")].astype(PEDAL)


def finite_column(name: str, values: npt.ArrayLike, error: type[Exception] = NotesError) -> npt.NDArray[np.float64]:
    """One column of finite numbers, or ``error`` naming the row that is not finite."""
    try:
        column = np.atleast_1d(np.asarray(values, dtype=np.float64))
    except (TypeError, ValueError) as cause:
        raise error(f"{name} must be numbers, got {values!r:.60}") from cause
    if column.ndim != 1:
        raise error(f"{name} has {column.ndim} dimensions: give one value a note, in one row")
    bad = np.flatnonzero(~np.isfinite(column))
    if bad.size:
        raise error(f"{name}[{bad[0]}] is {column[bad[0]]}: give a finite number{_unit_of(name)}")
    return column


def _unit_of(name: str) -> str:
    return " of quarters" if name.endswith("quarter") else " of seconds" if name.endswith("_s") else ""


def midi_column(name: str, values: npt.ArrayLike, error: type[Exception] = NotesError) -> npt.NDArray[np.int64]:
    """One column of whole numbers from 0 to 127, or ``error`` naming the row that is none."""
    column = finite_column(name, values, error)
    bad = np.flatnonzero((column < 0) | (column > 127) | (column != np.floor(column)))
    if bad.size:
        raise error(f"{name}[{bad[0]}] is {column[bad[0]]:g}: MIDI counts in whole numbers from 0 to 127")
    return column.astype(np.int64)


def _fill(rows: npt.NDArray[np.void], name: str, column: npt.NDArray[Any]) -> None:
    if len(column) != len(rows):
        raise NotesError(f"{name} has {len(column)} rows where onset_s has {len(rows)}: give one value a note")
    rows[name] = column
