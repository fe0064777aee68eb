"""Joined or let go: the steps under each slur.

Conventions
    Key times only, never the pedal's; steps and the note that leads to the next one as in `keysense.findings.touch`.

Findings
    overlap (ms): median over the steps inside one slur; overlap_ratio (1): the same as a share of each step. Repeated
        notes are left out (they cannot overlap), steps with the pedal down are not judged. One row a slur and hand.
        Its limit is that of joining; where the keys stayed down past `touch_held_over`, it is that one, from above.
        A slur most of whose notes carry a dot, or dot and line, asks for no joining: it has no limit and is of no kind;
        `keysense.findings.articulation` tells how long its notes were held.
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

from keysense.finding import Finding, Limit, Place
from keysense.findings.heard import Heard, hand_or_none
from keysense.findings.rows import median_row
from keysense.findings.spans import NEAR, Under, named_by, under_each, under_slurs
from keysense.findings.stats import Estimate
from keysense.findings.touch import medians_of, share_of, touches_of
from keysense.findings.touch_kinds import slur_kinds
from keysense.practice import Practice
from keysense.targets.target import Mark

__all__ = ["overlaps"]

PEDALLED = "the pedal was down: joined by the pedal, and the fingers are not judged"
REPEATED = "repeated notes cannot overlap"
_MOST = 0.5


def overlaps(heard: Heard) -> list[Finding]:
    """overlap and overlap_ratio of every slur, in the order of the slurs; then how many there are of each kind."""
    rows: list[tuple[int, list[Finding]]] = []
    for hand in heard.hands:
        of_hand, inside = _of_hand(heard, hand)
        pairs = _overlaps_of(heard, hand, [mark for _, mark in of_hand], inside)
        rows += [(k, pair) for (k, _), pair in zip(of_hand, pairs, strict=True)]
    found = [finding for _, pair in sorted(rows, key=lambda row: row[0]) for finding in pair]
    return [*found, *slur_kinds(found, heard.practice), *_key_overlaps(heard)]


def _key_overlaps(heard: Heard) -> list[Finding]:
    rows = []
    for hand in heard.hands:
        touches = touches_of(heard, hand)
        _, inside = _of_hand(heard, hand)
        slurred = np.zeros(len(touches), bool)
        slurred[inside.rows] = True
        if len(inside.rows):
            place = Place(heard.bars_of(touches["bar"][slurred]), hand_or_none(hand))
            values = 1000 * touches["overlap_s"][slurred & touches["usable"] & ~touches["repeated"]]
            rows.append(median_row(heard, "key_overlap", "ms", values, place, what="steps under slurs"))
    return rows


def _of_hand(heard: Heard, hand: str) -> tuple[list[tuple[int, Mark]], Under]:
    """The slurs of one hand with their numbers, and its steps from one note of each to the next; once a take."""
    return heard.once(("slurs", hand), lambda: _slurs_of(heard, hand))


def _slurs_of(heard: Heard, hand: str) -> tuple[list[tuple[int, Mark]], Under]:
    slurs = [(k, mark) for k, mark in enumerate(heard.marks_of("slur")) if _hand_of(heard, mark) in ("", hand)]
    touches, marks = touches_of(heard, hand), [mark for _, mark in slurs]
    under = under_slurs(heard, marks, np.ascontiguousarray(touches["quarter"]), touches["target"])
    end = np.array([mark.end_quarter for mark in marks], float)
    return slurs, under.where(touches["next_quarter"][under.rows] < end[under.number] + NEAR)


def _hand_of(heard: Heard, mark: Mark) -> str:
    """The hand of a slur: its own, else that of its notes."""
    if mark.hand or not mark.note_ids:
        return mark.hand
    hands = set(heard.target.notes["hand"][np.isin(heard.target.notes["id"], mark.note_ids)].tolist())
    return hands.pop() if len(hands) == 1 else ""


def _overlaps_of(heard: Heard, hand: str, slurs: list[Mark], inside: Under) -> list[list[Finding]]:
    touches = touches_of(heard, hand)
    fit = touches["usable"] & ~touches["repeated"] & ~touches["pedal"]
    fitting = inside.where(fit[inside.rows])
    ms = medians_of(fitting.parts(1000 * touches["overlap_s"]))
    ratio = medians_of(fitting.parts(share_of(touches)))
    of_hand, carried = hand_or_none(hand), _carried(heard, hand, slurs)
    limits = [None if let_go else _limit(heard.practice, r.value) for let_go, r in zip(carried, ratio, strict=True)]
    places = [Place(bars, of_hand, m.id) for bars, m in zip(inside.bars(touches["bar"]), slurs, strict=True)]
    whys = _whys_not(touches, inside)
    return [_rows(*row) for row in zip(places, ms, ratio, whys, limits, strict=True)]


def _limit(practice: Practice, ratio: float | None) -> Limit | None:
    """What a slur is held against: joining, or letting go in time where its notes were held over."""
    most = practice.value("touch_held_over")
    return practice.limit("overlap_ratio") if ratio is None or ratio <= most else Limit(most, "max")


def _carried(heard: Heard, hand: str, slurs: list[Mark]) -> list[bool]:
    """Which slurs join notes that are let go each by itself: more than half carry a dot, or dot and line."""
    dots = [m for m in heard.marks_of("staccato", "tenuto") if m.kind == "staccato" or m.value == "detached-legato"]
    if not dots or not slurs:
        return [False] * len(slurs)
    notes, onset = heard.asked(hand), heard.asked_onsets(hand)
    start, end = (np.array([getattr(m, name) for m in dots], float) for name in ("start_quarter", "end_quarter"))
    telling = np.array([bool(m.note_ids) for m in dots])
    spanning = under_each(onset, np.where(telling, np.inf, start - NEAR), np.maximum(end - NEAR, start + NEAR))
    dotted = np.zeros(len(notes))
    dotted[spanning.rows], dotted[named_by(heard, dots, notes).rows] = 1, 1
    under = under_slurs(heard, slurs, onset, notes)
    share = under.sums(dotted[under.rows]) / np.maximum(under.counts, 1)
    return [bool(carried) for carried in share > _MOST]


def _rows(place: Place, ms: Estimate, ratio: Estimate, why: str, limit: Limit | None) -> list[Finding]:
    if ms.low is None:
        why = why or f"it takes 3 steps under a slur, or more slurs beside it, and {ms.n} came"
        return [
            Finding.missing("overlap", "ms", why, n=ms.n, place=place),
            Finding.missing("overlap_ratio", "1", why, n=ms.n, place=place, limit=limit),
        ]
    return [
        Finding("overlap", ms.value, "ms", ms.n, ms.low, ms.high, None, place),
        Finding("overlap_ratio", ratio.value, "1", ms.n, ratio.low, ratio.high, limit, place),
    ]


def _whys_not(touches: npt.NDArray[np.void], inside: Under) -> list[str]:
    """What may have kept the steps under each slur from being judged; nothing where it was their number."""
    pedal, repeated = (np.bincount(inside.number, touches[name][inside.rows], inside.marks) > 0
                       for name in ("pedal", "repeated"))  # fmt: skip
    return [PEDALLED if a else REPEATED if b else "" for a, b in zip(pedal.tolist(), repeated.tolist(), strict=True)]
