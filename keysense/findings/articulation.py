"""How long are the notes held under their articulation marks?

Conventions
    Key times only, never the pedal's; steps and the note that leads to the next one as in `keysense.findings.touch`.

Findings
    hold_ratio (1): key-down time over the step to the next note, median over one run of notes under one articulation
        mark (staccato, tenuto); one row a run and hand. A step that waited or crosses a phrase end is left out.
    Intervals: see `keysense.findings.touch.medians_of`; a run of one or two notes borrows the scatter of the other runs
        under the same kind of mark, and is missing where there are too few.

    articulated_as_written, articulated_otherwise (count): the marked notes that were held as their mark asks, by the
        limit of its kind, and those that were not, with the place of each; one row each a hand; n is the marked notes
        that could be judged.

References
    Bresin & Battel 2000: staccato about 40 % of the step, repeated notes about 60 %.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Heard, hand_or_none
from keysense.findings.stats import Estimate
from keysense.findings.touch import hold_of, medians_of, touches_of
from keysense.targets.target import Mark

__all__ = ["articulated", "hold_ratios"]

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
_NEAR = 1e-6
_KINDS = ("staccato", "tenuto")


@dataclass(frozen=True)
class _Run:
    """Neighbouring written onsets that all carry one kind of mark, and the id of the first such mark."""

    mark: str
    onsets: Floats


def hold_ratios(heard: Heard) -> list[Finding]:
    """hold_ratio of each run of notes under one articulation mark."""
    rows: list[Finding] = []
    for hand in heard.hands:
        for kind in _KINDS:
            marks = [mark for mark in heard.marks if mark.kind == kind and mark.hand in ("", hand)]
            if marks:
                rows += _hold_ratios_of(heard, hand, kind, _runs(heard, hand, marks))
    return [*rows, *articulated(heard)]


def articulated(heard: Heard) -> list[Finding]:
    """Of each hand's marked notes, how many were held as written and how many otherwise."""
    rows: list[Finding] = []
    for hand in heard.hands:
        judged = [_as_asked(heard, hand, kind) for kind in _KINDS]
        fits = np.concatenate([as_asked for as_asked, _ in judged])
        touches = np.concatenate([touched for _, touched in judged])
        if len(fits):
            where = zip(touches["bar"][~fits].tolist(), touches["id"][~fits].tolist(), strict=True)
            places = tuple(Place((bar, bar), hand_or_none(hand), note) for bar, note in where)
            n, place = len(fits), Place((int(touches["bar"].min()), int(touches["bar"].max())), hand_or_none(hand))
            rows.append(Finding("articulated_as_written", n - len(places), "count", n, place=place))
            rows.append(Finding("articulated_otherwise", len(places), "count", n, place=place, places=places))
    return rows


def _as_asked(heard: Heard, hand: str, kind: str) -> tuple[Bools, npt.NDArray[np.void]]:
    """Which touches under one kind of mark keep to its limit, and the touches themselves."""
    touches, limit = touches_of(heard, hand), heard.practice.limit(f"hold_ratio_{kind}")
    marks = [mark for mark in heard.marks if mark.kind == kind and mark.hand in ("", hand)]
    onsets = [run.onsets for run in _runs(heard, hand, marks)] if marks else []
    marked = np.isin(np.round(touches["quarter"], 6), np.concatenate([np.zeros(0), *onsets]))
    touches = touches[marked & touches["usable"] & ~touches["phrase_end"]]
    if limit is None:
        return np.zeros(0, bool), touches[:0]
    hold = hold_of(touches)
    return np.asarray(hold <= limit.value if limit.side == "max" else hold >= limit.value, bool), touches


def _hold_ratios_of(heard: Heard, hand: str, kind: str, runs: list[_Run]) -> list[Finding]:
    touches = touches_of(heard, hand)
    fit = touches["usable"] & ~touches["phrase_end"]
    quarter, hold = np.round(touches["quarter"], 6), hold_of(touches)
    inside = [_inside(quarter, run.onsets) for run in runs]
    estimates = medians_of([hold[under[fit[under]]] for under in inside])
    return [
        _row(heard, hand, kind, run, touches["bar"][under], e)
        for run, under, e in zip(runs, inside, estimates, strict=True)
    ]


def _inside(quarter: Floats, onsets: Floats) -> npt.NDArray[np.int64]:
    """The rows whose written onset is one of the run's."""
    first, after = np.searchsorted(quarter, [onsets[0], onsets[-1] + _NEAR])
    return np.arange(first, after)[np.isin(quarter[first:after], onsets)]


def _row(heard: Heard, hand: str, kind: str, run: _Run, bar: npt.NDArray[np.int64], e: Estimate) -> Finding:
    place = Place((int(bar.min()), int(bar.max())) if len(bar) else None, hand_or_none(hand), run.mark)
    if e.low is None:
        why = f"it takes 3 notes in a row with this mark, or more such notes elsewhere, and {e.n} came"
        return Finding.missing("hold_ratio", "1", why, n=e.n, place=place)
    return Finding("hold_ratio", e.value, "1", e.n, e.low, e.high, heard.practice.limit(f"hold_ratio_{kind}"), place)


def _runs(heard: Heard, hand: str, marks: list[Mark]) -> list[_Run]:
    """Written events of the hand, split into runs whose every note carries the mark."""
    written = heard.target.notes[(heard.target.notes["hand"] == hand) & ~heard.target.notes["is_grace"]]
    onsets = np.unique(np.round(written["onset_quarter"], 6))
    carried, by = _carrying(written, onsets, marks)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], carried.astype(int), [0]])))
    return [_Run(by[int(start)], onsets[start:end]) for start, end in zip(edges[::2], edges[1::2], strict=True)]


def _carrying(written: npt.NDArray[np.void], onsets: Floats, marks: list[Mark]) -> tuple[Bools, dict[int, str]]:
    """Which written onsets carry one of the marks, and the id of the mark that does."""
    carried, by = np.zeros(len(onsets), bool), dict[int, str]()
    for mark in marks:
        if mark.note_ids:
            under = np.isin(onsets, np.round(written["onset_quarter"][np.isin(written["id"], mark.note_ids)], 6))
        else:
            end = max(mark.end_quarter, mark.start_quarter + 2 * _NEAR)
            under = (onsets > mark.start_quarter - _NEAR) & (onsets < end - _NEAR)
        carried |= under
        for k in np.flatnonzero(under):
            by.setdefault(int(k), mark.id)
    return carried, by
