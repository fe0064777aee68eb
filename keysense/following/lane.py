"""One reading of the target laid out for decoding.

Conventions
    A *state* is an onset: "this one was heard last". For every key that is played the lane tells, by one byte an onset,
    how that key could be taken there: as a written note (`EXACT`), as the neighbour of one (`BESIDE`, `NEARBY`: one
    and two semitones off) or as its `OCTAVE`. Two zero bytes stand before the first onset and `REACH` + 1 after the
    last, so that ``codes[state : state + WINDOW]`` shows what lies from two onsets before a state to `REACH` after.
"""

from __future__ import annotations

from functools import cached_property
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.hypotheses import Hypothesis
from keysense.targets.target import Target, page_id

__all__ = ["BESIDE", "EXACT", "GAIN", "HERE", "LATE", "NEARBY", "OCTAVE", "SEEN", "WINDOW", "Lane"]

EXACT, BESIDE, NEARBY, OCTAVE = 1, 2, 3, 4
LATE = 5  # LATE and LATE + 1: a press that came for one and two onsets before; no code of the lane
GAIN = (0.0, c.RIGHT, c.NEAR[1], c.NEAR[2], c.OCTAVE)
HERE = 2  # where a window shows its own state
WINDOW = HERE + 1 + c.REACH

_NEAREST = (0, -1, 1, -2, 2, -12, 12)
_AROUND = ((OCTAVE, (-12, 12)), (NEARBY, (-2, 2)), (BESIDE, (-1, 1)), (EXACT, (0,)))

Ahead = tuple[tuple[tuple[int, int, float], ...], float]
"""The ways on that a window shows: each with its step, code and gain; and the greatest of those gains."""
Seen = tuple[bytes | None, Ahead | None]
"""What a window shows: the codes of its own state and of the two before, if one is `EXACT`; and the ways on, if any."""

Ints = npt.NDArray[np.int64]
_NOWHERE: Ints = np.zeros(0, np.int64)
_BACK = np.arange(c.REACH + 1)
Floats = npt.NDArray[np.float64]


class _AllSeen(dict[bytes, Seen | None]):
    """What can be done, by each window of codes met so far: few differ, and they are asked for all the time."""

    def __missing__(self, window: bytes) -> Seen | None:
        behind, on = window[: HERE + 1], window[HERE + 1 :]
        ways = tuple((k, code, GAIN[code]) for k, code in enumerate(on, 1) if code)
        ahead = (ways, GAIN[EXACT] if EXACT in on else GAIN[BESIDE]) if ways else None
        stays = behind if EXACT in behind else None
        self[window] = None if ahead is None and stays is None else (stays, ahead)
        return self[window]


SEEN = _AllSeen()


class Lane:
    """The onsets of one hypothesis, what it costs to jump or start there, and where each key could be taken."""

    def __init__(self, target: Target, hypothesis: Hypothesis) -> None:
        rows = hypothesis.rows
        self.hypothesis = hypothesis
        self.onset_quarter, self.onset_of = np.unique(
            np.round(target.notes["onset_quarter"][rows], 6), return_inverse=True
        )
        self.size = len(self.onset_quarter)
        pitch = hypothesis.pitch[rows]
        keys = pitch * self.size + self.onset_of
        order = np.argsort(keys, kind="stable")
        self._keys, self._row = keys[order], rows[order]
        self._sounded = _distinct(self._keys)
        self.unisons = _distinct(self._keys[1:][self._keys[1:] == self._keys[:-1]])
        self._codes: dict[int, bytes] = {}
        self._places: dict[int, list[tuple[int, float, float, float]]] = {}
        self._goes_on: dict[int, bytes] = {}
        self.quarter: list[float] = self.onset_quarter.tolist()
        gaps = np.diff(self.onset_quarter)
        self.next_quarters: list[float] = np.append(gaps, gaps[-1:] if len(gaps) else 1.0).tolist()
        room = (
            np.convolve(np.concatenate([gaps[:1], gaps, gaps[-1:]]), [0.5, 0.5], "valid") if len(gaps) else np.ones(1)
        )
        passing = c.SKIPPED * np.minimum(room / c.SKIPPED_QUARTERS, 1.0)
        self.passed: list[float] = np.cumsum(passing).tolist()  # price of passing over all onsets up to each
        chord = np.bincount(self._sounded % max(self.size, 1), minlength=self.size)
        self.unheard: list[float] = (c.UNHEARD * chord).tolist()
        bar = _first_of_bar(self.onset_quarter, target.bars["start_quarter"])
        first = np.arange(self.size) == 0
        self.jump_bonus: Floats = np.where(first, c.JUMP_TO_START, np.where(bar, c.JUMP_TO_BAR, 0.0))
        self.start_worth: Floats = c.RIGHT - np.where(first, 0.0, np.where(bar, c.START_AT_BAR, c.START_ELSEWHERE))
        self.repeats = _repeats(target, self.onset_of, rows, self.size)
        if self.size:  # of places that are alike the earlier
            self.start_worth -= np.minimum(c.START_LATER * (self.onset_quarter - self.onset_quarter[0]), c.START_LATEST)

    @cached_property
    def _exact(self) -> dict[int, Ints]:
        return _by_pitch(self._sounded, self.size)

    @cached_property
    def doubled(self) -> frozenset[int]:
        """Where one key is written twice at once: pitch times the number of onsets, plus onset."""
        return frozenset(self.unisons.tolist())

    @cached_property
    def arrays(self) -> tuple[Floats | Ints, ...]:
        """For `kernel.Plan`."""
        lists = (np.asarray(values) for values in (self.next_quarters, self.passed, self.unheard))
        repeats = np.array([(s, *way) for s, way in self.repeats.items()], np.int64).reshape(-1, 3)
        return self.onset_quarter, *lists, self.jump_bonus, self.start_worth, self._sounded, self.unisons, repeats

    def exact(self, pitch: int) -> Ints:
        """The onsets where a key is written, ascending."""
        return self._exact.get(pitch, _NOWHERE)

    def place_arrays(self, pitch: int) -> tuple[Ints, Floats, Floats, Floats]:
        """The onsets where a key is written: which, at what quarter, worth how much to jump and to start there."""
        at = self.exact(pitch)
        return at, self.onset_quarter[at], self.jump_bonus[at], self.start_worth[at]

    def places(self, pitch: int) -> list[tuple[int, float, float, float]]:
        """The same, a place a row."""
        found = self._places.get(pitch)
        if found is None:
            columns = (column.tolist() for column in self.place_arrays(pitch))
            found = self._places[pitch] = list(zip(*columns, strict=True))
        return found

    def codes(self, pitch: int) -> bytes:
        """How a key could be taken at each onset; see the top of this file."""
        found = self._codes.get(pitch)
        if found is None:
            codes = np.zeros(self.size + HERE + c.REACH + 1, np.uint8)
            for code, distances in _AROUND:
                for by in distances:
                    if pitch + by in self._exact:
                        codes[self._exact[pitch + by] + HERE] = code
            found = self._codes[pitch] = codes.tobytes()
        return found

    def goes_on(self, pitch: int) -> bytes:
        """For each onset: whether a key is written there or within `REACH` onsets after."""
        found = self._goes_on.get(pitch)
        if found is None:
            on = np.zeros(self.size, np.uint8)
            on[np.maximum(self.exact(pitch)[:, None] - _BACK, 0)] = 1
            found = self._goes_on[pitch] = on.tobytes()
        return found

    def notes(self, state: Ints, pitch: Ints, kind: Ints) -> Ints:
        """The rows of the target that keys were taken for, by kind: at a state or at onsets before; -1 for none."""
        out = np.full(len(state), -1)
        here = (state - np.maximum(kind - LATE + 1, 0)) + pitch * self.size
        for by in _NEAREST:
            unknown = np.flatnonzero(out < 0)
            if not len(unknown) or not len(self._keys):
                break
            key = here[unknown] + by * self.size
            at = np.minimum(np.searchsorted(self._keys, key), len(self._keys) - 1)
            out[unknown] = np.where(self._keys[at] == key, self._row[at], -1)
        return out


def _repeats(target: Target, onset_of: Ints, rows: Ints, size: int) -> dict[int, tuple[int, int]]:
    """Where the page goes on elsewhere once a repeat is left out: by onset, (onset, step).

    Each onset near the end of a first time: the same onset in the last time, and from which step on other notes follow
    there: what comes after the repeat, or its last ending.
    """
    number = target.bars["number"]
    if not size or len(np.unique(number)) == len(number):
        return {}
    head = np.zeros(size, np.int64)
    head[onset_of[::-1]] = rows[::-1]
    place: dict[str, int] = {}
    names = [place.setdefault(page_id(name), len(place)) for name in target.notes["id"][head].tolist()]
    last = np.zeros(len(place), np.int64)
    last[names] = np.arange(size)
    name = np.append(names, np.arange(-c.REACH, 0))  # beyond the end nothing is alike
    out = {}
    for s in np.flatnonzero(last[names] > np.arange(size)).tolist():
        again = int(last[names[s]])
        for step in range(1, min(c.REACH, size - 1 - again) + 1):
            if name[again + step] != name[s + step] and again + step - s > c.REACH:
                out[s] = (again, step)
                break
    return out


def _distinct(ascending: Ints) -> Ints:
    """Each value once."""
    once: Ints = ascending[np.append(True, ascending[1:] != ascending[:-1])[: len(ascending)]]
    return once


def _by_pitch(keys: Ints, size: int) -> dict[int, Ints]:
    """The onsets of each pitch, from distinct ascending keys: pitch times size and onset."""
    if not len(keys):
        return {}
    pitch, onset = np.divmod(keys, size)
    cuts = [0, *(np.flatnonzero(np.diff(pitch)) + 1).tolist(), len(keys)]
    return {int(pitch[first]): onset[first:end] for first, end in pairwise(cuts)}


def _first_of_bar(onset_quarter: Floats, starts: Floats) -> npt.NDArray[np.bool_]:
    bar = np.searchsorted(starts, onset_quarter + 1e-6, side="right")
    return np.append(True, bar[1:] != bar[:-1])[: len(onset_quarter)]
