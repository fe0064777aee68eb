"""Several playings of one tune laid over each other: what they agree on.

Conventions
    An event is what is struck together: keys within 50 ms of the one before. Playings are aligned by the pitches of
    their events. A note stands where at least half of the playings have it, and of two the first decides.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.notes import Take

__all__ = ["Event", "Playing", "agreed", "events_of", "likeness"]

_TOGETHER_S = 0.05
_GAP_COST = 1.0


@dataclass(frozen=True)
class Event:
    """Keys struck together. release_s: by pitch, when that key came up."""

    onset_s: float
    release_s: dict[int, float]

    @property
    def pitches(self) -> frozenset[int]:
        """The keys."""
        return frozenset(self.release_s)


@dataclass(frozen=True)
class Playing:
    """What the playings agree on, on the clock of the first; ``pace``: how long the middle one takes over the first."""

    events: list[Event]
    intervals_s: npt.NDArray[np.float64]
    pace: float = 1.0


def events_of(take: Take) -> list[Event]:
    """The events of one take, in order."""
    groups: list[list[np.void]] = []
    for note in take.notes:
        if groups and note["onset_s"] - groups[-1][-1]["onset_s"] <= _TOGETHER_S:
            groups[-1].append(note)
        else:
            groups.append([note])
    return [
        Event(float(np.mean([n["onset_s"] for n in rows])), {int(n["pitch"]): float(n["release_s"]) for n in rows})
        for rows in groups
    ]


def agreed(playings: Sequence[list[Event]]) -> Playing:
    """One playing out of several: notes by majority, intervals by the median at a common pace."""
    slots = [slot for slot in _slots(playings) if _majority(slot, len(playings))]
    steps = _steps(slots, len(playings))
    paces = [_pace(steps[p], steps[0]) for p in range(len(playings))]
    intervals = _middle(steps / np.array(paces)[:, None])
    onsets: list[float] = []
    for k, slot in enumerate(slots):
        # A place the first playing left out comes when the others, at its pace, would have come to it.
        onsets.append(slot[0].onset_s if 0 in slot else onsets[-1] + intervals[k - 1] if onsets else 0.0)
    events = [Event(onset, _releases(slot, onset)) for slot, onset in zip(slots, onsets, strict=True)]
    return Playing(events, intervals, float(np.median(paces)))


def likeness(base: list[Event], other: list[Event]) -> float:
    """Share of the places of the longer playing where both strike a key in common, 0 to 1."""
    rows = _beside(base, other)
    common = sum(
        row is not None and bool(base[row].pitches & event.pitches) for event, row in zip(other, rows, strict=True)
    )
    return common / max(len(base), len(other))


# A slot is one place of the tune: by playing, the event that stands there.
_Slot = dict[int, Event]


def _slots(playings: Sequence[list[Event]]) -> list[_Slot]:
    """Every place of the tune in order: those of the first playing, and after them what others have in between."""
    base = playings[0]
    slots: dict[tuple[int, int, tuple[int, ...]], _Slot] = {(k, 0, ()): {0: event} for k, event in enumerate(base)}
    for p, other in enumerate(playings[1:], 1):
        rows = _beside(base, other)
        last, since = -1, 0
        for event, row in zip(other, rows, strict=True):
            if row is None:
                since += 1
                slots.setdefault((last, since, tuple(sorted(event.pitches))), {})[p] = event
            else:
                last, since = row, 0
                slots[row, 0, ()][p] = event
    return [slots[key] for key in sorted(slots)]


def _beside(base: list[Event], other: list[Event]) -> list[int | None]:
    """For each event of ``other`` the row of ``base`` it stands for (a global alignment by pitches)."""
    n, m = len(base), len(other)
    cost = np.zeros((n + 1, m + 1))
    cost[:, 0], cost[0, :] = np.arange(n + 1) * _GAP_COST, np.arange(m + 1) * _GAP_COST
    unlike = [[_unlike(a, b) for b in other] for a in base]
    for i in range(1, n + 1):
        for j in range(1, m + 1):
            skip = min(cost[i - 1, j], cost[i, j - 1]) + _GAP_COST
            cost[i, j] = min(cost[i - 1, j - 1] + unlike[i - 1][j - 1], skip)
    rows: list[int | None] = [None] * m
    i, j = n, m
    while i and j:
        if cost[i, j] == cost[i - 1, j - 1] + unlike[i - 1][j - 1]:
            i, j = i - 1, j - 1
            rows[j] = i
        elif cost[i, j] == cost[i - 1, j] + _GAP_COST:
            i -= 1
        else:
            j -= 1
    return rows


def _unlike(a: Event, b: Event) -> float:
    """0 for the same keys, 1.5 for quite other ones: less than leaving both out, so slips stay in their place."""
    return 1.5 * (1 - len(a.pitches & b.pitches) / len(a.pitches | b.pitches))


def _majority(slot: _Slot, of: int) -> bool:
    return len(slot) * 2 > of or (len(slot) * 2 == of and 0 in slot)


def _releases(slot: _Slot, onset_s: float) -> dict[int, float]:
    """The keys most playings have here, held as long as the first of them that has the key."""
    votes = Counter(pitch for event in slot.values() for pitch in event.pitches)
    first = slot[min(slot)]
    chosen = {p for p, n in votes.items() if n * 2 > len(slot) or (n * 2 == len(slot) and p in first.pitches)}
    releases = {}
    for pitch in sorted(chosen or first.pitches):
        event = next(slot[p] for p in sorted(slot) if pitch in slot[p].pitches)
        releases[pitch] = onset_s + event.release_s[pitch] - event.onset_s
    return releases


def _steps(slots: list[_Slot], of: int) -> npt.NDArray[np.float64]:
    """Seconds from place to place, one row a playing; NaN where a playing has not both."""
    steps = np.full((of, max(len(slots) - 1, 0)), np.nan)
    for k in range(steps.shape[1]):
        for p in slots[k].keys() & slots[k + 1].keys():
            steps[p, k] = slots[k + 1][p].onset_s - slots[k][p].onset_s
    return steps


def _pace(steps: npt.NDArray[np.float64], first: npt.NDArray[np.float64]) -> float:
    """How much longer than the first this playing takes: the middle half of the ratios, in logarithms."""
    both = np.isfinite(steps) & np.isfinite(first)
    if not both.any():
        return 1.0
    ratios = np.sort(np.log(steps[both] / first[both]))
    cut = len(ratios) // 4
    return float(np.exp(ratios[cut : len(ratios) - cut].mean()))


def _middle(steps: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    known = np.isfinite(steps).any(axis=0)
    intervals = np.zeros(steps.shape[1])
    intervals[known] = np.nanmedian(steps[:, known], axis=0)
    intervals[~known] = np.median(intervals[known]) if known.any() else 0.5
    return intervals
