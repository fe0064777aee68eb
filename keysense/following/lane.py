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
from keysense.following.values import changes
from keysense.following.written import FURTHEST, KEYS

__all__ = ["BESIDE", "EXACT", "GAIN", "HERE", "LATE", "NEARBY", "OCTAVE", "SEEN", "WINDOW", "Lane"]

EXACT, BESIDE, NEARBY, OCTAVE = 1, 2, 3, 4
LATE = 5  # LATE and LATE + 1: a press that came for one and two onsets before; no code of the lane
GAIN = (0.0, c.RIGHT, c.NEAR[1], c.NEAR[2], c.OCTAVE)
HERE = 2  # where a window shows its own state
WINDOW = HERE + 1 + c.REACH

_NEAREST = np.array([-1, 1, -2, 2, -12, 12])
_BELOW = FURTHEST + 12  # keys below those of MIDI where a code may stand
_KEYS = KEYS + 2 * _BELOW
_AROUND = ((OCTAVE, (-12, 12)), (NEARBY, (-2, 2)), (BESIDE, (-1, 1)), (EXACT, (0,)))

Ahead = tuple[tuple[tuple[int, int, float], ...], float]
"""The ways on that a window shows: each with its step, code and gain; and the greatest of those gains."""
Seen = tuple[bytes | None, Ahead | None]
"""What a window shows: the codes of its own state and of the two before, if one is `EXACT`; and the ways on, if any."""

Ints = npt.NDArray[np.int64]
_NOWHERE: Ints = np.zeros(0, np.int64)
Floats = npt.NDArray[np.float64]
Bytes = npt.NDArray[np.uint8]


class _AllSeen(dict[bytes, Seen | None]):
    """What can be done, by each window of codes met so far: few differ, and they are asked for all the time."""

    def __missing__(self, window: bytes) -> Seen | None:
        behind, on = window[: HERE + 1], window[HERE + 1 :]
        ways = tuple(
            (k, code, GAIN[code]) for k, code in enumerate(on, 1) if code == EXACT or (code and k <= c.NEAR_REACH)
        )
        ahead = (ways, GAIN[EXACT] if EXACT in on else GAIN[BESIDE]) if ways else None
        stays = behind if EXACT in behind else None
        self[window] = None if ahead is None and stays is None else (stays, ahead)
        return self[window]


SEEN = _AllSeen()


class Lane:
    """The onsets of one hypothesis, what it costs to jump or start there, and where each key could be taken.

    What the compiled sweep asks for is laid out at once; the lists are for the numpy sweep."""

    def __init__(self, hypothesis: Hypothesis) -> None:
        self.hypothesis, self.onsets = hypothesis, hypothesis.onsets
        self.onset_quarter, self.size = self.onsets.onset_quarter, self.onsets.size
        self.repeats = self.onsets.repeats
        keys = hypothesis.pitch * self.size + self.onsets.onset_of
        order = keys.argsort(kind="stable")
        self._keys, self._row = keys[order], self.onsets.rows[order]
        once = changes(self._keys)
        self._sounded = self._keys[once]
        twice = self._keys[~once]
        self.unisons = twice[changes(twice)] if len(twice) else twice
        self._at = self._sounded % max(self.size, 1)  # the onset of each place
        chord = np.bincount(self._at, minlength=self.size)
        self._unheard: Floats = c.UNHEARD * chord.astype(float)
        self._codes: dict[int, bytes] = {}
        self._places: dict[int, list[tuple[int, float, float, float]]] = {}

    @cached_property
    def quarter(self) -> list[float]:
        """Of each onset."""
        return _listed(self.onset_quarter)

    @cached_property
    def next_quarters(self) -> list[float]:
        """From each onset to the next."""
        return _listed(self.onsets.next_quarters)

    @cached_property
    def passed(self) -> list[float]:
        """Price of passing over all onsets up to each."""
        return _listed(self.onsets.passed)

    @cached_property
    def unheard(self) -> list[float]:
        """Price of leaving all notes of each onset unheard."""
        return _listed(self._unheard)

    @cached_property
    def _exact(self) -> dict[int, Ints]:
        if not self.size:
            return {}
        first, last = (int(self._sounded[k]) // self.size for k in (0, -1))
        cuts = self._sounded.searchsorted(np.arange(first, last + 2) * self.size).tolist()
        return {pitch: self._at[begin:end] for pitch, (begin, end) in enumerate(pairwise(cuts), first) if begin < end}

    @cached_property
    def _all_codes(self) -> Bytes:
        """`codes` of every key, from ``-_BELOW``."""
        codes = np.zeros((_KEYS, self.size + WINDOW), np.uint8)
        flat, width = codes.reshape(-1), codes.shape[1]
        here = (self._sounded // max(self.size, 1) + _BELOW) * width + self._at + HERE
        for code, distances in _AROUND:
            for by in distances:
                flat[here - by * width] = code
        return codes

    @cached_property
    def _all_on(self) -> Bytes:
        """`goes_on` of every key, from ``-_BELOW``, with `REACH` before the first onset."""
        on = np.zeros((_KEYS, self.size + c.REACH), np.uint8)
        flat, width = on.reshape(-1), on.shape[1]
        here = (self._sounded // max(self.size, 1) + _BELOW) * width + self._at
        for first in range(c.REACH + 1):
            flat[here + first] = 1
        return on

    @cached_property
    def doubled(self) -> frozenset[int]:
        """Where one key is written twice at once: pitch times the number of onsets, plus onset."""
        return frozenset(self.unisons.tolist())

    @cached_property
    def arrays(self) -> tuple[Floats | Ints, ...]:
        """For `kernel.Plan`."""
        at, repeats = self.onsets, np.array([(s, *way) for s, way in self.repeats.items()], np.int64).reshape(-1, 3)
        return (
            at.onset_quarter, at.next_quarters, at.passed, self._unheard, at.jump_bonus, at.start_worth,
            self._sounded, self.unisons, repeats,
        )  # fmt: skip

    def exact(self, pitch: int) -> Ints:
        """The onsets where a key is written, ascending."""
        return self._exact.get(pitch, _NOWHERE)

    def place_arrays(self, pitch: int) -> tuple[Ints, Floats, Floats, Floats]:
        """The onsets where a key is written: which, at what quarter, worth how much to jump and to start there."""
        at = self.exact(pitch)
        return at, self.onset_quarter[at], self.onsets.jump_bonus[at], self.onsets.start_worth[at]

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
            found = self._codes[pitch] = self._all_codes[pitch + _BELOW].tobytes()
        return found

    def notes(self, state: Ints, pitch: Ints, kind: Ints) -> Ints:
        """The rows of the target that keys were taken for, by kind: at a state or at onsets before; -1 for none."""
        if not self.size:
            return np.full(len(state), -1)
        place = (state - np.maximum(kind - LATE + 1, 0)) + pitch * self.size
        rows = self._rows_at(place)
        (other,) = (rows < 0).nonzero()
        if len(other):
            nearest = self._rows_at(place[other, None] + self.size * _NEAREST)
            rows[other] = nearest[np.arange(len(other)), (nearest >= 0).argmax(1)]
        return rows

    def _rows_at(self, place: Ints) -> Ints:
        """The first row at each place, pitch times the number of onsets plus onset; -1 where there is none."""
        at = np.minimum(self._keys.searchsorted(place), len(self._keys) - 1)
        return np.where(self._keys[at] == place, self._row[at], -1)


def _listed(values: Floats) -> list[float]:
    plain: list[float] = values.tolist()
    return plain
