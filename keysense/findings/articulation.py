"""How long are the notes held under their articulation marks?

Conventions
    Key times only, never the pedal's; steps and the note that leads to the next one as in `keysense.findings.touch`.

Findings
    hold_ratio (1): key-down time over the step to the next note, median over one run of notes under one articulation
        mark (staccato, tenuto); one row a run and hand. A step that waited or crosses a phrase end is left out. Before
        a written rest the key-down time is set against the written note at the pace of that step.
    Intervals: see `keysense.findings.touch.medians_of`; a run of one or two notes borrows the scatter of the other runs
        under the same kind of mark, and is missing where there are too few.

    articulated_as_written, articulated_otherwise (count): the marked notes that were held as their mark asks, by the
        limit of its kind, and those that were not, with the place of each; one row each a hand; n is the marked notes
        that could be judged. A line before a rest asks for the note, not for keys kept down far into the rest.

References
    Bresin & Battel 2000: staccato about 40 % of the step, repeated notes about 60 %.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Limit, Place
from keysense.findings.heard import Heard, distinct, hand_or_none
from keysense.findings.spans import NEAR, Under, named_by, under_each
from keysense.findings.stats import Estimate
from keysense.findings.touch import hold_of, medians_of, touches_of
from keysense.targets.target import Mark

__all__ = ["articulated", "hold_ratios"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
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
            runs = _runs(heard, hand, kind)
            rows += _hold_ratios_of(heard, hand, kind, runs) if runs else []
    return [*rows, *articulated(heard)]


def articulated(heard: Heard) -> list[Finding]:
    """Of each hand's marked notes, how many were held as written and how many otherwise."""
    rows: list[Finding] = []
    for hand in heard.hands:
        judged = [_as_asked(heard, hand, kind) for kind in _KINDS]
        fits = np.concatenate([as_asked for as_asked, _ in judged])
        touches = np.concatenate([touched for _, touched in judged])
        if len(fits):
            where = zip(touches["bar"][~fits].tolist(), heard.ids_of(touches[~fits]).tolist(), strict=True)
            places = tuple(Place((bar, bar), hand_or_none(hand), note) for bar, note in where)
            n, place = len(fits), Place((int(touches["bar"].min()), int(touches["bar"].max())), hand_or_none(hand))
            rows.append(Finding("articulated_as_written", n - len(places), "count", n, place=place))
            rows.append(Finding("articulated_otherwise", len(places), "count", n, place=place, places=places))
    return rows


def _as_asked(heard: Heard, hand: str, kind: str) -> tuple[Bools, npt.NDArray[np.void]]:
    """Which touches under one kind of mark keep to its limit, and the touches themselves."""
    touches, limit = touches_of(heard, hand), heard.practice.limit(f"hold_ratio_{kind}")
    onsets = [run.onsets for run in _runs(heard, hand, kind)]
    marked = np.isin(np.round(touches["quarter"], 6), np.concatenate([np.zeros(0), *onsets]))
    touches = touches[marked & _fit(touches)]
    if limit is None:
        return np.zeros(0, bool), touches[:0]
    hold = hold_of(touches, heard.practice.value("hold_most"))
    if limit.side == "max":
        return np.asarray(hold <= limit.value, bool), touches
    kept_on = touches["rested"] & (hold > 1 + heard.practice.value("touch_held_over"))
    return np.asarray((hold >= limit.value) & ~kept_on, bool), touches


def _hold_ratios_of(heard: Heard, hand: str, kind: str, runs: list[_Run]) -> list[Finding]:
    touches = touches_of(heard, hand)
    fit = _fit(touches)
    quarter, hold = np.round(touches["quarter"], 6), hold_of(touches, heard.practice.value("hold_most"))
    first, last = (np.array([run.onsets[k] for run in runs]) for k in (0, -1))
    inside = under_each(quarter, first, last + NEAR)
    inside = inside.where(np.isin(quarter[inside.rows], np.concatenate([run.onsets for run in runs])))
    estimates = medians_of(inside.where(fit[inside.rows]).parts(hold))
    limit, of_hand = heard.practice.limit(f"hold_ratio_{kind}"), hand_or_none(hand)
    places = [Place(bars, of_hand, run.mark) for bars, run in zip(inside.bars(touches["bar"]), runs, strict=True)]
    return [_row(place, e, limit) for place, e in zip(places, estimates, strict=True)]


def _fit(touches: npt.NDArray[np.void]) -> Bools:
    """The steps that tell how long a note was held: before a rest, too, whether or not a phrase ends there."""
    return np.asarray((touches["usable"] & ~touches["phrase_end"]) | touches["rested"], bool)


def _row(place: Place, e: Estimate, limit: Limit | None) -> Finding:
    if e.low is None:
        why = f"it takes 3 notes in a row with this mark, or more such notes elsewhere, and {e.n} came"
        return Finding.missing("hold_ratio", "1", why, n=e.n, place=place, limit=limit)
    return Finding("hold_ratio", e.value, "1", e.n, e.low, e.high, limit, place)


def _runs(heard: Heard, hand: str, kind: str) -> list[_Run]:
    """Written events of the hand, split into runs whose every note carries a mark of this kind."""
    return heard.once(("articulated", hand, kind), lambda: _runs_of(heard, hand, kind))


def _runs_of(heard: Heard, hand: str, kind: str) -> list[_Run]:
    marks = [mark for mark in heard.marks_of(kind) if mark.hand in ("", hand)]
    if not marks:
        return []
    target, onset = heard.asked(hand), heard.asked_onsets(hand)
    onsets = distinct(onset)
    first = np.full(len(onsets), len(marks))  # the first of the marks that each one carries
    spanning, own = _carrying(heard, marks, onsets, target)
    np.minimum.at(first, spanning.rows, spanning.number)
    np.minimum.at(first, np.searchsorted(onsets, onset[own.rows]), own.number)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], (first < len(marks)).astype(int), [0]])))
    return [_Run(marks[first[a]].id, onsets[a:b]) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _carrying(heard: Heard, marks: list[Mark], onsets: Floats, target: Ints) -> tuple[Under, Under]:
    """The written onsets in the span of each mark that names no notes; the notes of the hand that the others name."""
    start = np.array([np.inf if mark.note_ids else mark.start_quarter for mark in marks])
    end = np.array([max(mark.end_quarter, mark.start_quarter + 2 * NEAR) for mark in marks])
    return under_each(onsets, start - NEAR, end - NEAR), named_by(heard, marks, target)
