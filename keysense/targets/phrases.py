"""Phrases, where the page marks them.

Conventions
    Phrases tile the music from the first note to the last. Ends come from breath marks where there are any, else from
    phrase slurs (at least four notes, not inside a longer one, together over at least three fifths of the notes of
    their hand, and most of them a bar and a half or longer: a slur over each bar joins notes and ends no phrase), and
    always from a silence of all hands. A cut that would leave fewer than four onsets on either side is none. Where
    nothing marks a phrase there are none. All of this: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from keysense.targets.target import Mark

__all__ = ["phrases_of"]

_FEWEST_ONSETS = 4
_COVERED = 0.6
_BARS = 1.5  # two bars less a short upbeat or a closing rest


def phrases_of(
    notes: npt.NDArray[np.void], marks: Sequence[Mark], bars: npt.NDArray[np.void]
) -> npt.NDArray[np.float64]:
    """Start and end of each phrase in quarters, shape (k, 2); (0, 2) where the page marks none."""
    sounding = notes[~notes["is_grace"]]
    if not len(sounding):
        return np.zeros((0, 2))
    cuts = {mark.start_quarter for mark in marks if mark.kind == "breath"} or _slur_ends(sounding, marks, bars)
    cuts |= _silences(sounding)
    first = float(sounding["onset_quarter"].min())
    last = float((sounding["onset_quarter"] + sounding["duration_quarter"]).max())
    onsets = np.unique(sounding["onset_quarter"])
    kept = _kept(sorted(cuts), onsets)
    if not kept and last not in cuts:
        return np.zeros((0, 2))
    edges = [first, *kept, last]
    return np.array([edges[:-1], edges[1:]]).T


def _kept(cuts: list[float], onsets: npt.NDArray[np.float64]) -> list[float]:
    kept: list[float] = []
    begun = 0
    for cut in cuts:
        row = int(np.searchsorted(onsets, cut - 1e-9))
        if row - begun >= _FEWEST_ONSETS and len(onsets) - row >= _FEWEST_ONSETS:
            kept.append(cut)
            begun = row
    return kept


def _silences(notes: npt.NDArray[np.void]) -> set[float]:
    """Where every hand is silent: the first onset after the silence."""
    reach = np.maximum.accumulate(notes["onset_quarter"] + notes["duration_quarter"])
    gap = notes["onset_quarter"][1:] - reach[:-1] > 1e-6
    return set(notes["onset_quarter"][1:][gap].tolist())


def _slur_ends(notes: npt.NDArray[np.void], marks: Sequence[Mark], bars: npt.NDArray[np.void]) -> set[float]:
    """Ends of the phrase slurs of the first hand that is slurred throughout."""
    for hand in ("R", "L", ""):
        ids = notes["id"][notes["hand"] == hand].tolist()
        slurs = [m for m in marks if m.kind == "slur" and m.hand == hand and not m.layer]
        phrases = _outermost([mark for mark in slurs if len(mark.note_ids) >= _FEWEST_ONSETS])
        covered = {id_ for mark in phrases for id_ in mark.note_ids} & set(ids)
        if ids and len(covered) >= _COVERED * len(ids) and _usual_bars(notes, phrases, bars) >= _BARS:
            return {_end_of(notes, mark) for mark in phrases}
    return set()


def _usual_bars(notes: npt.NDArray[np.void], slurs: list[Mark], bars: npt.NDArray[np.void]) -> float:
    """How many bars a slur usually lasts, from its first note to where its last one ends."""
    start = np.array([mark.start_quarter for mark in slurs])
    row = np.clip(np.searchsorted(bars["start_quarter"], start + 1e-9, side="right") - 1, 0, None)
    bar = np.maximum(bars["length_quarter"][row], np.median(bars["length_quarter"]))  # an upbeat stands in a short one
    return float(np.median((np.array([_end_of(notes, mark) for mark in slurs]) - start) / bar))


def _outermost(slurs: list[Mark]) -> list[Mark]:
    def inside(a: Mark, b: Mark) -> bool:
        return (
            a is not b
            and b.start_quarter <= a.start_quarter
            and a.end_quarter <= b.end_quarter
            and (b.end_quarter - b.start_quarter > a.end_quarter - a.start_quarter)
        )

    return [mark for mark in slurs if not any(inside(mark, other) for other in slurs)]


def _end_of(notes: npt.NDArray[np.void], slur: Mark) -> float:
    """Where the last note of the slur ends."""
    last = notes[np.isin(notes["id"], slur.note_ids)]
    return float((last["onset_quarter"] + last["duration_quarter"]).max())
