"""Joined or let go: slurs and articulation marks.

Conventions
    Key times only, never the pedal's. The overlap of a note is its release minus the next onset of the same hand and
    voice line: positive is held over, negative a gap. The next note is the next written event of that hand.

Findings
    overlap (ms): median over the steps inside one slur; overlap_ratio (1): the same as a share of each step. Repeated
        notes are left out (they cannot overlap), steps with the pedal down are not judged. Missing below three steps.
    hold_ratio (1): key-down time over the step to the next note, median over one run of notes under one articulation
        mark (staccato, tenuto); missing below three notes. A step that waited is left out.
    Intervals: exact signed rank from six steps, Student's below.

References
    Bresin & Battel 2000: staccato about 40 % of the step, repeated notes about 60 %; overlap grows with note length
    (Repp). 22 professionals release before the next note in about 40 % of slurred steps (computed), so the median is
    judged and no overlap is required on every note.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Limit, Place
from keysense.findings.heard import Heard, hand_or_none
from keysense.findings.stats import median_of
from keysense.findings.steps import steps_of
from keysense.targets.target import Mark

__all__ = ["Touches", "hold_ratios", "overlaps", "touches_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

_NEAR = 1e-6
_FEWEST = 3
_LONGEST_HOLD = 2.0  # keys held on beyond two steps are capped


@dataclass(frozen=True)
class Touches:
    """How each step of one hand was joined, in written order.

    quarter, next_quarter: written onsets of the two notes; bar; id: of the first note; overlap_s; step_s; repeated:
    the same key again; pedal: down as the key came up; usable: neither a wait nor written apart by a rest; target:
    row of the first note.
    """

    quarter: Floats
    next_quarter: Floats
    bar: Ints
    id: npt.NDArray[np.str_]
    overlap_s: Floats
    step_s: Floats
    repeated: Bools
    pedal: Bools
    usable: Bools
    phrase_end: Bools
    target: Ints

    @property
    def hold(self) -> Floats:
        """Key-down time as a share of the step, capped where keys are kept down."""
        return np.minimum(1 + self.overlap_s / self.step_s, _LONGEST_HOLD)


def touches_of(heard: Heard, hand: str) -> Touches:
    """The touches of one hand; of a chord the note nearest in pitch to the next one sings on."""
    events = heard.hand_events[hand]
    steps = steps_of(heard, events)
    rows = heard.rows
    first, second = rows[events.row[steps.first]], rows[events.row[steps.second]]
    overlap = events.release_s[steps.first] - events.time_s[steps.second]
    pedal = heard.pedal_down(events.release_s[steps.first]) | heard.pedal_down(events.time_s[steps.second] - 0.02)
    phrase = heard.phrase_of(events.quarter)
    crossing = phrase[steps.first] != phrase[steps.second]
    rest = events.quarter[steps.second] - events.end_quarter[steps.first] > 0.3 * steps.length
    return Touches(
        events.quarter[steps.first], events.quarter[steps.second], events.bar[steps.first], first["id"], overlap,
        steps.seconds, np.asarray(first["pitch"] == second["pitch"]), pedal, ~(steps.long | rest), crossing,
        first["target"].astype(np.int64),
    )  # fmt: skip


def overlaps(heard: Heard) -> list[Finding]:
    """overlap and overlap_ratio, one row each for every slur."""
    rows: list[Finding] = []
    for mark in heard.marks:
        if mark.kind == "slur":
            for hand in heard.hands:
                if _hand_of(heard, mark) in ("", hand):
                    rows += _overlap(heard, mark, hand)
    return rows


def _hand_of(heard: Heard, mark: Mark) -> str:
    """The hand of a slur: its own, else that of its notes."""
    if mark.hand or not mark.note_ids:
        return mark.hand
    hands = set(heard.target.notes["hand"][np.isin(heard.target.notes["id"], mark.note_ids)].tolist())
    return hands.pop() if len(hands) == 1 else ""


def _overlap(heard: Heard, mark: Mark, hand: str) -> list[Finding]:
    touches = touches_of(heard, hand)
    inside = (touches.quarter > mark.start_quarter - _NEAR) & (touches.next_quarter < mark.end_quarter + _NEAR)
    bars = (int(touches.bar[inside].min()), int(touches.bar[inside].max())) if np.any(inside) else None
    place = Place(bars, hand_or_none(hand), mark.id)
    judged = inside & touches.usable & ~touches.repeated & ~touches.pedal
    n = int(np.count_nonzero(judged))
    if n < _FEWEST:
        why = _why_not(n, inside, touches)
        return [Finding.missing("overlap", "ms", why, n=n, place=place),
                Finding.missing("overlap_ratio", "1", why, n=n, place=place)]  # fmt: skip
    overlap = touches.overlap_s[judged]
    ms, ratio = median_of(1000 * overlap), median_of(overlap / touches.step_s[judged])
    limit = heard.practice.limit("overlap_ratio")
    return [
        Finding("overlap", ms.value, "ms", n, ms.low, ms.high, None, place),
        Finding("overlap_ratio", ratio.value, "1", n, ratio.low, ratio.high, limit, place),
    ]


def _why_not(n: int, inside: Bools, touches: Touches) -> str:
    if np.count_nonzero(inside & touches.pedal) >= _FEWEST - n:
        return "the pedal was down: joined by the pedal, and the fingers are not judged"
    if np.count_nonzero(inside & touches.repeated) >= _FEWEST - n:
        return "repeated notes cannot overlap"
    return f"{n} steps were heard under this slur and it takes {_FEWEST}"


def hold_ratios(heard: Heard) -> list[Finding]:
    """hold_ratio of each run of notes under one articulation mark."""
    rows: list[Finding] = []
    for hand in heard.hands:
        for kind in ("staccato", "tenuto"):
            marks = [mark for mark in heard.marks if mark.kind == kind and mark.hand in ("", hand)]
            if marks:
                rows += _runs_under(heard, hand, kind, marks)
    return rows


def _runs_under(heard: Heard, hand: str, kind: str, marks: list[Mark]) -> list[Finding]:
    """Written events of the hand, split into runs whose every note carries the mark."""
    written = heard.target.notes[(heard.target.notes["hand"] == hand) & ~heard.target.notes["is_grace"]]
    onsets = np.unique(np.round(written["onset_quarter"], 6))
    carried, by = _carrying(written, onsets, marks)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], carried.astype(int), [0]])))
    touches = touches_of(heard, hand)
    return [
        _hold(heard, hand, kind, by[int(start)], onsets[start:end], touches)
        for start, end in zip(edges[::2], edges[1::2], strict=True)
    ]


def _carrying(
    written: npt.NDArray[np.void], onsets: Floats, marks: list[Mark]
) -> tuple[Bools, dict[int, str]]:
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


def _hold(heard: Heard, hand: str, kind: str, mark: str, onsets: Floats, touches: Touches) -> Finding:
    inside = np.isin(np.round(touches.quarter, 6), onsets)
    judged = inside & touches.usable & ~touches.phrase_end
    n = int(np.count_nonzero(judged))
    bars = (int(touches.bar[inside].min()), int(touches.bar[inside].max())) if np.any(inside) else None
    place = Place(bars, hand_or_none(hand), mark)
    if n < _FEWEST:
        why = f"{n} notes with this mark were heard in a row and it takes {_FEWEST}"
        return Finding.missing("hold_ratio", "1", why, n=n, place=place)
    e = median_of(touches.hold[judged])
    limit: Limit | None = heard.practice.limit(f"hold_ratio_{kind}")
    return Finding("hold_ratio", e.value, "1", n, e.low, e.high, limit, place)
