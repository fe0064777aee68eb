"""The onsets of a reading: where its notes stand, and what it costs to pass over one, to jump or to start there.

None of this hangs on the pitches, so readings in which the same parts sound share it.
"""

from __future__ import annotations

from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.values import changes
from keysense.targets.target import page_id

__all__ = ["Onsets", "Page"]

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


class Page(NamedTuple):
    """Of a target: the onset of each note in quarters, to six places; the ids of the notes; its bars."""

    quarter: Floats
    id: npt.NDArray[np.str_]
    bars: npt.NDArray[np.void]


class Onsets:
    """``rows``: the rows of the target that sound, ``onset_of``: the onset of each, both ascending.

    ``at_row``: the other way round, for each row of the target its place in ``rows``, -1 where it is silent. All else
    has a value an onset.
    """

    def __init__(self, page: Page, rows: Ints) -> None:
        self.rows, self._page = rows, page
        quarter = page.quarter if len(rows) == len(page.quarter) else page.quarter[rows]
        new = changes(quarter)
        self.onset_of: Ints = new.cumsum() - 1
        self.onset_quarter: Floats = quarter[new]
        self.size = len(self.onset_quarter)
        self.at_row = rows if len(rows) == len(page.quarter) else _places(rows, len(page.quarter))
        gaps = self.onset_quarter[1:] - self.onset_quarter[:-1]
        around = np.concatenate([gaps[:1], gaps, gaps[-1:]]) if len(gaps) else np.ones(self.size + 1)
        self.next_quarters: Floats = around[1:]
        room = (around[1:] + around[:-1]) / 2
        passing = c.SKIPPED * np.minimum(room / c.SKIPPED_QUARTERS, 1.0)
        self.passed: Floats = passing.cumsum()  # price of passing over all onsets up to each
        bar = self._first_of_bar()
        self.jump_bonus: Floats = np.where(bar, c.JUMP_TO_BAR, 0.0)
        self.start_worth: Floats = np.where(bar, c.RIGHT - c.START_AT_BAR, c.RIGHT - c.START_ELSEWHERE)
        if self.size:  # of places that are alike the earlier
            self.jump_bonus[0], self.start_worth[0] = c.JUMP_TO_START, c.RIGHT
            later = c.START_LATER * (self.onset_quarter - self.onset_quarter[0])
            self.start_worth -= np.minimum(later, c.START_LATEST)

    def _first_of_bar(self) -> Bools:
        return changes(self._page.bars["start_quarter"].searchsorted(self.onset_quarter + 1e-6, side="right"))

    @cached_property
    def repeats(self) -> dict[int, tuple[int, int]]:
        """Where the page goes on elsewhere once a repeat is left out: by onset, (onset, step).

        Each onset near the end of a first time: the same onset in the last time, and from which step on other notes
        follow there: what comes after the repeat, or its last ending.
        """
        number, size = self._page.bars["number"].tolist(), self.size
        if not size or len({*number}) == len(number):
            return {}
        head = np.zeros(size, np.int64)
        head[self.onset_of[::-1]] = self.rows[::-1]
        place: dict[str, int] = {}
        names = [place.setdefault(page_id(name), len(place)) for name in self._page.id[head].tolist()]
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


def _places(rows: Ints, n: int) -> Ints:
    """Where each of ``n`` rows stands among some of them, -1 where it does not."""
    places: Ints = np.full(n, -1)
    places[rows] = np.arange(len(rows))
    return places
