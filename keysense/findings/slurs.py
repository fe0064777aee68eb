"""Joined or let go: the steps under each slur.

Conventions
    Key times only, never the pedal's; steps and the note that leads to the next one as in `keysense.findings.touch`.

Findings
    overlap (ms): median over the steps inside one slur; overlap_ratio (1): the same as a share of each step. Repeated
        notes are left out (they cannot overlap), steps with the pedal down are not judged. One row a slur and hand.
    key_overlap (ms): median over all steps under slurs of one hand, of the keys alone, whatever the pedal did; it tells
        of the fingers where the pedal joins the sound, and is no judgement; one row a hand, signed-rank interval,
        missing below three steps.
    Intervals: see `keysense.findings.touch.medians_of`; a slur of two or three notes borrows the scatter of the others,
        and is missing where there are too few others.

References
    Overlap grows with note length (Repp). 22 professionals release before the next note in about 40 % of slurred steps
    (computed), so the median is judged and no overlap is required on every note.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Heard, hand_or_none
from keysense.findings.rows import median_row
from keysense.findings.stats import Estimate
from keysense.findings.touch import medians_of, touches_of
from keysense.findings.touch_kinds import slur_kinds
from keysense.targets.target import Mark

__all__ = ["overlaps"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
_NEAR = 1e-6


def overlaps(heard: Heard) -> list[Finding]:
    """overlap and overlap_ratio of every slur, in the order of the slurs; then how many there are of each kind."""
    slurs = [mark for mark in heard.marks if mark.kind == "slur"]
    rows: list[tuple[int, list[Finding]]] = []
    for hand in heard.hands:
        of_hand = [(k, mark) for k, mark in enumerate(slurs) if _hand_of(heard, mark) in ("", hand)]
        pairs = _overlaps_of(heard, hand, [mark for _, mark in of_hand])
        rows += [(k, pair) for (k, _), pair in zip(of_hand, pairs, strict=True)]
    found = [finding for _, pair in sorted(rows, key=lambda row: row[0]) for finding in pair]
    return [*found, *slur_kinds(found, heard.practice), *_key_overlaps(heard, slurs)]


def _key_overlaps(heard: Heard, slurs: list[Mark]) -> list[Finding]:
    rows = []
    for hand in heard.hands:
        touches = touches_of(heard, hand)
        quarter = np.ascontiguousarray(touches["quarter"])
        of_hand = [mark for mark in slurs if _hand_of(heard, mark) in ("", hand)]
        inside = np.unique(np.concatenate([np.zeros(0, np.int64), *(_inside(touches, quarter, m) for m in of_hand)]))
        slurred = touches[inside]
        if len(slurred):
            fit = slurred[slurred["usable"] & ~slurred["repeated"]]
            place = Place((int(slurred["bar"].min()), int(slurred["bar"].max())), hand_or_none(hand))
            values = 1000 * fit["overlap_s"]
            rows.append(median_row(heard, "key_overlap", "ms", values, place, what="steps under slurs"))
    return rows


def _hand_of(heard: Heard, mark: Mark) -> str:
    """The hand of a slur: its own, else that of its notes."""
    if mark.hand or not mark.note_ids:
        return mark.hand
    hands = set(heard.target.notes["hand"][np.isin(heard.target.notes["id"], mark.note_ids)].tolist())
    return hands.pop() if len(hands) == 1 else ""


def _overlaps_of(heard: Heard, hand: str, slurs: list[Mark]) -> list[list[Finding]]:
    touches = touches_of(heard, hand)
    quarter = np.ascontiguousarray(touches["quarter"])
    inside = [_inside(touches, quarter, mark) for mark in slurs]
    fit = touches["usable"] & ~touches["repeated"] & ~touches["pedal"]
    overlap_ms, share = 1000 * touches["overlap_s"], touches["overlap_s"] / touches["step_s"]
    fitting = [under[fit[under]] for under in inside]
    ms = medians_of([overlap_ms[under] for under in fitting])
    ratio = medians_of([share[under] for under in fitting])
    return [
        _rows(heard, hand, touches, under, mark, *estimates)
        for under, mark, *estimates in zip(inside, slurs, ms, ratio, strict=True)
    ]


def _inside(touches: npt.NDArray[np.void], quarter: Floats, mark: Mark) -> Ints:
    """The steps from one note of the slur to the next."""
    first, after = np.searchsorted(quarter, [mark.start_quarter - _NEAR, mark.end_quarter + _NEAR])
    rows = np.arange(first, after)
    rows = rows[touches["next_quarter"][rows] < mark.end_quarter + _NEAR]
    return rows[np.isin(touches["id"][rows], mark.note_ids)] if mark.note_ids else rows


def _rows(
    heard: Heard, hand: str, touches: npt.NDArray[np.void], inside: Ints, mark: Mark, ms: Estimate, ratio: Estimate
) -> list[Finding]:
    bars = (int(touches["bar"][inside].min()), int(touches["bar"][inside].max())) if len(inside) else None
    place, n = Place(bars, hand_or_none(hand), mark.id), ms.n
    if ms.low is None:
        why = _why_not(n, touches[inside])
        return [
            Finding.missing("overlap", "ms", why, n=n, place=place),
            Finding.missing("overlap_ratio", "1", why, n=n, place=place),
        ]
    limit = heard.practice.limit("overlap_ratio")
    return [
        Finding("overlap", ms.value, "ms", n, ms.low, ms.high, None, place),
        Finding("overlap_ratio", ratio.value, "1", n, ratio.low, ratio.high, limit, place),
    ]


def _why_not(n: int, inside: npt.NDArray[np.void]) -> str:
    if np.any(inside["pedal"]):
        return "the pedal was down: joined by the pedal, and the fingers are not judged"
    if np.any(inside["repeated"]):
        return "repeated notes cannot overlap"
    return f"it takes 3 steps under a slur, or more slurs beside it, and {n} came"
