"""Where in its beat does each written place lie?

Conventions
    Places are counted from the start of their own bar, an upbeat from where its bar ends. The beat is a quarter; in
    bars of three, nine or fifteen eighths it is three eighths. Bars of six and of twelve eighths may be either: there
    the beat is the one that fewer notes tie over, starting off it and lasting past the next; where that does not tell,
    it is a quarter, and pairs of eighths belong to no beat.

Findings
    None of its own: what `keysense.findings.rhythm` and `keysense.findings.steps` look at.

References
    None: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.findings.heard import Heard

__all__ = ["COMPOUND", "NEAR", "Beats", "beats_at", "multiple"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

NEAR = 1e-3  # quarters
COMPOUND, _PLAIN = 1.5, 1.0
_EITHER = 3.0  # bars of so many quarters may be of either beat
_PAST = 0.1  # quarters: lengths of a played target run a little over


@dataclass(frozen=True, eq=False)
class Beats:
    """One row a place: quarters since its bar began, the length of its beat, and whether the page tells that beat."""

    since: Floats
    beat: Floats
    told: Bools


def beats_at(heard: Heard, quarter: Floats) -> Beats:
    """Where some written places lie; counted from zero where the target has no bars."""
    origin, beat, told = heard.once("beats", lambda: _beats_of_bars(heard))
    if not len(origin):
        return Beats(quarter, np.full(len(quarter), _PLAIN), np.ones(len(quarter), bool))
    row = _bar_of(heard, quarter)
    return Beats(quarter - origin[row], beat[row], told[row])


def multiple(values: Floats, of: Floats | float) -> Bools:
    """Which values are whole multiples of something."""
    return np.asarray(np.abs(values - of * np.round(values / of)) < NEAR, bool)


def _bar_of(heard: Heard, quarter: Floats) -> Ints:
    starts = heard.target.bars["start_quarter"]
    return np.asarray(np.clip(np.searchsorted(starts, quarter + NEAR, side="right") - 1, 0, None), np.int64)


def _beats_of_bars(heard: Heard) -> tuple[Floats, Floats, Bools]:
    """For each bar where its beats are counted from, how long they are, and whether the page tells so."""
    bars = heard.target.bars
    start, length = bars["start_quarter"].astype(float), bars["length_quarter"].astype(float)
    if not len(start):
        return start, length, np.zeros(0, bool)
    usual = float(np.median(length))
    upbeat = (length < usual - NEAR) & (np.append(length[1:], 0.0) > length + NEAR)
    origin = np.where(upbeat, start + length, start)
    length = np.where(length < usual - NEAR, usual, length)
    beat = np.where(multiple(length, COMPOUND) & ~multiple(length, _EITHER), COMPOUND, _PLAIN)
    told = np.ones(len(start), bool)
    for of in np.unique(length[multiple(length, _EITHER)]).tolist():
        plain, compound = _tied_over(heard, origin, length == of)
        beat[length == of] = COMPOUND if compound < plain else _PLAIN
        told[length == of] = plain != compound
    return origin, beat, told


def _tied_over(heard: Heard, origin: Floats, bars: Bools) -> tuple[int, int]:
    """How many notes of some bars start off a beat and last past the next, were it a quarter, or three eighths."""
    notes = heard.target.notes[~heard.target.notes["is_grace"]]
    row = _bar_of(heard, notes["onset_quarter"])
    notes, row = notes[bars[row]], row[bars[row]]
    since = notes["onset_quarter"] - origin[row]
    plain, compound = (
        int(np.count_nonzero(~multiple(since, beat) & (_until(since, beat) < notes["duration_quarter"] - _PAST)))
        for beat in (_PLAIN, COMPOUND)
    )
    return plain, compound


def _until(since: Floats, beat: float) -> Floats:
    """Quarters to the next beat."""
    return np.asarray(beat * np.ceil(since / beat - NEAR) - since)
