"""A take laid over its target: which key press is judged for which written note, and the steps from one to the next.

Conventions
    Of the passes of a take the last one that is as good as whole is judged; a written note it lacks is judged by its
    last sounding. An event is the notes of one written onset in one hand, timed by its first key down. A step leads
    from one event to the next written one: nothing left out between, one pass, time running forward.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Protocol, TypeVar

import numpy as np
import numpy.typing as npt

from keysense.findings.judged import judged
from keysense.following.following import Following
from keysense.notes import Take
from keysense.practice import Practice
from keysense.targets.target import Mark, Target
from keysense.units import Hand

__all__ = ["Asked", "Events", "Heard", "events_of", "hand_or_none"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
Made = TypeVar("Made")

_SAME_S = 1e-6
_SAME_Q = 1e-6


class Asked(Protocol):
    """What this room needs to know of a character: its word, its wishes by dimension, its own marks."""

    @property
    def word(self) -> str:
        """The word it goes by."""

    @property
    def wishes(self) -> dict[str, str]:
        """The direction wished for in each dimension."""

    @property
    def marks(self) -> tuple[Mark, ...]:
        """Marks of its own, beside those of the page."""


@dataclass(frozen=True, eq=False)
class Events:
    """The events of one hand, or of all, in written order.

    Columns are one an event: quarter (written onset), end_quarter (where its longest note ends), time_s (first key
    down), release_s (last key up), velocity (mean of its notes), bar, rank (place among the written events of this
    hand), passing (number of the pass), row (row of `Heard.rows` that sounded first), size (notes), grace (a grace
    note is written before it), again (it was sounded before in the same pass).
    """

    hand: str
    quarter: Floats
    end_quarter: Floats
    time_s: Floats
    release_s: Floats
    velocity: Floats
    bar: Ints
    rank: Ints
    passing: Ints
    row: Ints
    size: Ints
    grace: Bools
    again: Bools

    def __len__(self) -> int:
        return len(self.quarter)


@dataclass(frozen=True)
class Heard:
    """Everything the questions of this room look at. ``rows``: one a judged written note, in written order."""

    take: Take
    target: Target
    following: Following
    practice: Practice
    character: Asked | None = None
    _kept: dict[Any, Any] = field(default_factory=dict, init=False, repr=False, compare=False)

    def once(self, key: Any, make: Callable[[], Made]) -> Made:
        """What `make` gives, made once a take however many questions ask for it."""
        if key not in self._kept:
            self._kept[key] = make()
        made: Made = self._kept[key]
        return made

    @cached_property
    def rows(self) -> npt.NDArray[np.void]:
        """Rows of dtype ROW, sorted by written onset then pitch."""
        return judged(self.take, self.target, self.following)

    @cached_property
    def marks(self) -> tuple[Mark, ...]:
        """The marks of the page and of the character asked."""
        if self.character is None:
            return self.target.marks_asked()
        return (*self.target.marks_asked(self.character.word), *self.character.marks)

    @property
    def free(self) -> bool:
        """Freedom of time was asked, so evenness and drift are no question."""
        return self.character is not None and self.character.wishes.get("evenness") == "free"

    @cached_property
    def hands(self) -> tuple[str, ...]:
        """The hands that sounded, or one nameless hand where the target tells none."""
        told = tuple(hand for hand in self.target.hands if np.any(self.rows["hand"] == hand))
        return told or (("",) if len(self.rows) else ())

    @cached_property
    def all_events(self) -> Events:
        """The events of both hands together."""
        return events_of(self, None)

    @cached_property
    def hand_events(self) -> dict[str, Events]:
        """The events of each hand that sounded."""
        return {hand: events_of(self, hand) for hand in self.hands}

    @cached_property
    def last_bar_quarter(self) -> float:
        """Where the bar of the last written onset starts; infinite where all the music is in one bar."""
        starts = self.target.bars["start_quarter"]
        last = float(self.target.notes["onset_quarter"].max()) if len(self.target.notes) else 0.0
        before = starts[starts <= last + _SAME_Q]
        if not len(before) or before.max() <= float(self.target.notes["onset_quarter"].min()) + _SAME_Q:
            return float("inf")
        return float(before.max())

    def phrase_of(self, quarter: Floats) -> Ints:
        """The number of the phrase each written onset lies in; breath marks end a phrase as well."""
        breaths = [mark.end_quarter for mark in self.marks if mark.kind == "breath"]
        starts = np.sort(self.target.phrases[:, 0])
        number = np.searchsorted(starts, quarter + _SAME_Q, side="right")
        for breath in breaths:
            if not np.any(np.abs(starts - breath) < _SAME_Q):
                number = number + (quarter > breath - _SAME_Q)
        return np.asarray(number, np.int64)

    def section_of(self, quarter: Floats) -> Ints:
        """The number of the stretch of one written tempo each onset lies in."""
        starts = sorted(mark.start_quarter for mark in self.marks if mark.kind == "tempo")
        return np.searchsorted(np.array(starts), quarter + _SAME_Q, side="right").astype(np.int64)

    def bars_of(self, rows: npt.NDArray[np.void]) -> tuple[int, int] | None:
        """The first and last written bar of some rows."""
        return (int(rows["bar"].min()), int(rows["bar"].max())) if len(rows) else None

    def pedal_down(self, time_s: Floats) -> Bools:
        """Whether the sustain pedal is down (CC64 at 64 or above) at each time."""
        sustain = self.take.pedals[self.take.pedals["controller"] == 64]
        if not len(sustain):
            return np.zeros(len(time_s), bool)
        before = np.searchsorted(sustain["time_s"], time_s, side="right") - 1
        return np.asarray((before >= 0) & (sustain["value"][np.clip(before, 0, None)] >= 64))


def hand_or_none(hand: str) -> Hand | None:
    """The hand of a place; none where the target tells none."""
    return "R" if hand == "R" else "L" if hand == "L" else None


def events_of(heard: Heard, hand: str | None, voice: int | None = None) -> Events:
    """The events of one hand, or of one voice of it; of all hands where ``hand`` is None."""
    index = np.flatnonzero(_of(heard.rows, hand, voice) & ~heard.rows["grace"])
    written = heard.target.notes[_of(heard.target.notes, hand, voice)]
    graces = np.unique(written["onset_quarter"][written["is_grace"]])
    written_q = np.unique(np.round(written["onset_quarter"][~written["is_grace"]], 6))
    index = index[np.lexsort((heard.rows["onset_s"][index], np.round(heard.rows["quarter"][index], 6)))]
    rows = heard.rows[index]
    quarter, first, size = np.unique(np.round(rows["quarter"], 6), return_index=True, return_counts=True)
    none = not len(rows)

    def over(function: np.ufunc, values: Floats) -> Floats:
        return np.zeros(0) if none else np.asarray(function.reduceat(values, first), float)

    return Events(
        hand or "",
        quarter,
        over(np.maximum, rows["quarter"] + rows["length"]),
        rows["onset_s"][first],
        over(np.maximum, rows["release_s"]),
        over(np.add, rows["velocity"]) / np.maximum(size, 1),
        rows["bar"][first],
        np.searchsorted(written_q, quarter - _SAME_Q),
        rows["passing"][first],
        index[first],
        size,
        np.isin(quarter, np.round(graces, 6)),
        over(np.maximum, rows["again"].astype(float)) > 0,
    )


def _of(notes: npt.NDArray[np.void], hand: str | None, voice: int | None) -> Bools:
    chosen = np.ones(len(notes), bool) if hand is None else notes["hand"] == hand
    return np.asarray(chosen if voice is None else chosen & (notes["voice"] == voice), bool)
