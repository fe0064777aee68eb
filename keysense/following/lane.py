"""One reading of the target laid out for decoding.

Conventions
    A *state* is an onset: "this one was heard last". For every key that is played the lane tells, by one byte an onset,
    how that key could be taken there: as a written note (`EXACT`), as the neighbour of one (`BESIDE`, `NEARBY`: one
    and two semitones off) or as its `OCTAVE`. Two zero bytes stand before the first onset and `REACH` + 1 after the
    last, so that ``codes[state : state + WINDOW]`` shows what lies from two onsets before a state to `REACH` after.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.hypotheses import Hypothesis
from keysense.targets.target import Target

__all__ = ["BESIDE", "EXACT", "GAIN", "HERE", "NEARBY", "OCTAVE", "WINDOW", "Lane"]

EXACT, BESIDE, NEARBY, OCTAVE = 1, 2, 3, 4
GAIN = (0.0, c.RIGHT, c.NEAR[1], c.NEAR[2], c.OCTAVE)
HERE = 2  # where a window shows its own state
WINDOW = HERE + 1 + c.REACH

_AROUND = ((OCTAVE, (-12, 12)), (NEARBY, (-2, 2)), (BESIDE, (-1, 1)), (EXACT, (0,)))

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]


class Lane:
    """The onsets of one hypothesis, what it costs to jump or start there, and where each key could be taken."""

    def __init__(self, target: Target, hypothesis: Hypothesis) -> None:
        rows = hypothesis.rows
        self.hypothesis = hypothesis
        self.onset_quarter, onset_of = np.unique(np.round(target.notes["onset_quarter"][rows], 6), return_inverse=True)
        self.size = len(self.onset_quarter)
        pitch = hypothesis.pitch[rows]
        order = np.lexsort((onset_of, pitch))
        self._row, self._onset, self._pitch = rows[order], onset_of[order], pitch[order]
        self._codes: dict[int, bytes] = {}
        self._exact: dict[int, Ints] = {}
        self._goes_on: dict[int, npt.NDArray[np.bool_]] = {}
        self.quarter: list[float] = self.onset_quarter.tolist()
        gaps = np.diff(self.onset_quarter)
        self.next_quarters: list[float] = np.append(gaps, gaps[-1:] if len(gaps) else 1.0).tolist()
        room = (
            np.convolve(np.concatenate([gaps[:1], gaps, gaps[-1:]]), [0.5, 0.5], "valid") if len(gaps) else np.ones(1)
        )
        passing = c.SKIPPED * np.minimum(room / c.SKIPPED_QUARTERS, 1.0)
        self.passed: list[float] = np.cumsum(passing).tolist()  # price of passing over all onsets up to each
        chord = np.bincount(np.unique(onset_of * 256 + pitch % 256) // 256, minlength=self.size)
        self.unheard: list[float] = (c.UNHEARD * chord).tolist()
        bar = _first_of_bar(self.onset_quarter, target.bars["start_quarter"])
        first = np.arange(self.size) == 0
        self.jump_bonus: Floats = np.where(first, c.JUMP_TO_START, np.where(bar, c.JUMP_TO_BAR, 0.0))
        self.start_worth: Floats = c.RIGHT - np.where(first, 0.0, np.where(bar, c.START_AT_BAR, c.START_ELSEWHERE))
        if self.size:  # of places that are alike the earlier
            self.start_worth -= np.minimum(c.START_LATER * (self.onset_quarter - self.onset_quarter[0]), c.START_LATEST)

    def exact(self, pitch: int) -> Ints:
        """The onsets where a key is written, ascending."""
        found = self._exact.get(pitch)
        if found is None:
            found = self._exact[pitch] = np.unique(self._onset[self._written(pitch)])
        return found

    def codes(self, pitch: int) -> bytes:
        """How a key could be taken at each onset; see the top of this file."""
        found = self._codes.get(pitch)
        if found is None:
            codes = np.zeros(self.size + HERE + c.REACH + 1, np.uint8)
            for code, distances in _AROUND:
                for by in distances:
                    codes[self.exact(pitch + by) + HERE] = code
            found = self._codes[pitch] = codes.tobytes()
        return found

    def goes_on(self, pitch: int) -> npt.NDArray[np.bool_]:
        """For each onset: whether a key is written there or within `REACH` onsets after."""
        found = self._goes_on.get(pitch)
        if found is None:
            exact = self.exact(pitch)
            edge = np.zeros(self.size + 1, np.int64)
            np.add.at(edge, np.maximum(exact - c.REACH, 0), 1)
            np.add.at(edge, exact + 1, -1)
            found = self._goes_on[pitch] = np.cumsum(edge[:-1]) > 0
        return found

    def row(self, state: int, pitch: int) -> int:
        """The row of the target that a key was taken for at an onset; -1 if there is none."""
        for _, distances in _AROUND[::-1]:
            for by in distances:
                written = self._written(pitch + by)
                at = written.start + int(np.searchsorted(self._onset[written], state))
                if at < written.stop and self._onset[at] == state:
                    return int(self._row[at])
        return -1

    def _written(self, pitch: int) -> slice:
        return slice(*np.searchsorted(self._pitch, [pitch, pitch + 1]).tolist())


def _first_of_bar(onset_quarter: Floats, starts: Floats) -> npt.NDArray[np.bool_]:
    bar = np.searchsorted(starts, onset_quarter + 1e-6, side="right")
    return np.append(True, bar[1:] != bar[:-1])[: len(onset_quarter)]
