"""A take laid over its target: which key press is judged for which written note, and what of it is looked at often.

Conventions
    Of the passes of a take the last one that is as good as whole is judged; a written note it lacks is judged by its
    last sounding. What an event is stands in `keysense.findings.events`.

Findings
    None of its own: what the questions look at.

References
    None: bookkeeping.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt

from keysense.findings.asked import Asked, marks_asked
from keysense.findings.events import Events, distinct, events_of, of_hand
from keysense.findings.judged import judged
from keysense.following.following import Following
from keysense.notes import Take
from keysense.practice import Practice
from keysense.targets.target import Mark, Target
from keysense.units import Hand

__all__ = ["Asked", "Events", "Heard", "distinct", "events_of", "hand_or_none"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
Made = TypeVar("Made")

_SAME_Q = 1e-6


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
        return judged(self.take, self.target, self.following, self.practice.value("pass_whole"))

    @cached_property
    def marks(self) -> tuple[Mark, ...]:
        """The marks of the page and of the character asked (`keysense.findings.asked`)."""
        return marks_asked(self.target, self.character)

    def marks_of(self, *kinds: str) -> list[Mark]:
        """The marks of some kinds, in their order."""
        return self.once(("marks", kinds), lambda: [mark for mark in self.marks if mark.kind in kinds])

    def spread_at(self, quarter: Floats) -> Bools:
        """Whether the page asks for a spread chord at each of some written onsets."""
        asked = np.array([mark.start_quarter for mark in self.marks_of("spread")], float)
        return np.isin(np.round(quarter, 6), np.round(asked, 6))

    def asked(self, hand: str | None = None) -> Ints:
        """The rows of the target that are of one hand (of both: None), grace notes aside."""
        notes = self.target.notes
        return self.once(("asked", hand), lambda: np.flatnonzero(of_hand(notes, hand, None) & ~notes["is_grace"]))

    def asked_onsets(self, hand: str | None = None) -> Floats:
        """Their written onsets, in order, to the sixth decimal of a quarter."""
        onset = self.target.notes["onset_quarter"]
        return self.once(("onsets", hand), lambda: np.asarray(np.round(onset[self.asked(hand)], 6), float))

    def ids_of(self, rows: npt.NDArray[np.void]) -> npt.NDArray[np.str_]:
        """The ids of the notes that some rows (of anything with a ``target``) stand for."""
        return np.asarray(self.target.notes["id"][rows["target"]])

    @property
    def free(self) -> bool:
        """Freedom of time was asked, so evenness and drift are no question."""
        return self.character is not None and self.character.wishes.get("evenness") == "free"

    @cached_property
    def hands(self) -> tuple[str, ...]:
        """The hands that sounded, or one nameless hand where the target tells none."""
        told = tuple(hand for hand in self.target.hands if np.any(self.rows["hand"] == hand))
        return told or (("",) if len(self.rows) else ())

    def sounded(self, hand: str) -> Ints:
        """The rows of one hand, grace notes aside."""
        return self.once(("sounded", hand), lambda: np.flatnonzero((self.rows["hand"] == hand) & ~self.rows["grace"]))

    @cached_property
    def all_events(self) -> Events:
        """The events of both hands together; of one that plays alone its own, whatever the page has for the other."""
        if len(self.hands) == 1:
            return self.hand_events[self.hands[0]]
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
        """The number of the phrase each written onset lies in; breath marks end a phrase, and what lies between is one.

        So a phrase ends where it is marked to end, whether another begins there or not.
        """
        first, end = self.target.phrases.T
        within = (first < end[:, None] - _SAME_Q) & (end > end[:, None] + _SAME_Q)
        starts = distinct(np.sort(np.append(first, end[~within.any(axis=1)])))
        number = np.searchsorted(starts, quarter + _SAME_Q, side="right")
        for mark in self.marks_of("breath"):
            if not np.any(np.abs(starts - mark.end_quarter) < _SAME_Q):
                number = number + (quarter > mark.end_quarter - _SAME_Q)
        return np.asarray(number, np.int64)

    def section_of(self, quarter: Floats) -> Ints:
        """The number of the stretch of one written tempo each onset lies in."""
        starts = sorted(mark.start_quarter for mark in self.marks_of("tempo"))
        return np.searchsorted(np.array(starts), quarter + _SAME_Q, side="right").astype(np.int64)

    def bars_of(self, bar: Ints) -> tuple[int, int] | None:
        """The first and last of some written bars."""
        return (int(bar.min()), int(bar.max())) if len(bar) else None

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
