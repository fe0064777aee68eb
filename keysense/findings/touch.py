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

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Limit, Place
from keysense.findings.heard import Events, Heard, events_of, hand_or_none
from keysense.findings.stats import median_of
from keysense.findings.steps import steps_of
from keysense.targets.target import Mark

__all__ = ["TOUCH", "hold_of", "hold_ratios", "overlaps", "touches_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

_NEAR = 1e-6
_FEWEST = 3
_BEFORE_S = 0.02  # a pedal that goes down with the next note did not join the two
_LONGEST_HOLD = 2.0  # keys held on beyond two steps are capped


TOUCH = np.dtype(
    [
        ("quarter", "f8"), ("next_quarter", "f8"), ("bar", "i8"), ("id", "U64"), ("overlap_s", "f8"), ("step_s", "f8"),
        ("rest", "f8"), ("repeated", "?"), ("pedal", "?"), ("usable", "?"), ("phrase_end", "?"), ("phrase", "i8"),
    ]
)  # fmt: skip


def touches_of(heard: Heard, hand: str) -> npt.NDArray[np.void]:
    """How each step of one hand was joined: rows of dtype TOUCH in written order.

    quarter, next_quarter: written onsets of the two notes; id, bar, phrase: of the first; rest: share of the step
    written as silence; repeated: the same key again; pedal: down as the key came up or the next went down; usable: no
    wait, and no rest written between.
    """
    voices = np.unique(heard.rows["voice"][heard.rows["hand"] == hand]).tolist()
    touches = np.concatenate([np.zeros(0, TOUCH), *(_touches(heard, events_of(heard, hand, v), v) for v in voices)])
    return touches[np.argsort(touches["quarter"], kind="stable")]


def hold_of(touches: npt.NDArray[np.void]) -> Floats:
    """Key-down time as a share of the step, capped where keys are kept down."""
    return np.asarray(np.minimum(1 + touches["overlap_s"] / touches["step_s"], _LONGEST_HOLD))


def _touches(heard: Heard, events: Events, voice: int) -> npt.NDArray[np.void]:
    steps = steps_of(heard, events)
    top, leading = _singing(heard, events, voice)
    known = leading[steps.first] >= 0
    first, second = heard.rows[leading[steps.first[known]]], heard.rows[top[steps.second[known]]]
    phrase = heard.phrase_of(events.quarter)
    touches = np.zeros(len(first), TOUCH)
    touches["quarter"], touches["next_quarter"] = first["quarter"], second["quarter"]
    touches["bar"], touches["id"] = first["bar"], first["id"]
    touches["overlap_s"] = first["release_s"] - second["onset_s"]
    touches["step_s"] = second["onset_s"] - first["onset_s"]
    touches["repeated"] = first["pitch"] == second["pitch"]
    touches["pedal"] = heard.pedal_down(first["release_s"]) | heard.pedal_down(second["onset_s"] - _BEFORE_S)
    silent = second["quarter"] - first["quarter"] - first["length"]
    touches["rest"] = np.maximum(0, silent) / steps.length[known]
    touches["usable"] = ~steps.long[known] & (touches["rest"] <= 0.3) & (touches["step_s"] > _BEFORE_S)
    touches["phrase"] = phrase[steps.first][known]
    touches["phrase_end"] = (phrase[steps.first] != phrase[steps.second])[known]
    return touches


def _singing(heard: Heard, events: Events, voice: int) -> tuple[Ints, Ints]:
    """For each event the row of its highest note, and of its highest that is not written on past the next event.

    -1 where every note of the event is held on: such a note is no step to the next one.
    """
    rows = heard.rows
    index = np.flatnonzero((rows["hand"] == events.hand) & (rows["voice"] == voice) & ~rows["grace"])
    event = np.searchsorted(events.quarter, rows["quarter"][index] - _NEAR)
    index, event = index[np.lexsort((rows["pitch"][index], event))], np.sort(event)
    following = np.append(events.quarter[1:], np.inf)[event]
    moves_on = rows["quarter"][index] + rows["length"][index] < following + 0.1
    top, leading = np.full(len(events), -1), np.full(len(events), -1)
    top[event] = index  # the last one written is the highest
    leading[event[moves_on]] = index[moves_on]
    return top, leading


def overlaps(heard: Heard) -> list[Finding]:
    """overlap and overlap_ratio, one row each for every slur."""
    touches = {hand: touches_of(heard, hand) for hand in heard.hands}
    rows: list[Finding] = []
    for mark in heard.marks:
        if mark.kind == "slur":
            of = _hand_of(heard, mark)
            for hand in heard.hands:
                if of in ("", hand):
                    rows += _overlap(heard, mark, hand, touches[hand])
    return rows


def _hand_of(heard: Heard, mark: Mark) -> str:
    """The hand of a slur: its own, else that of its notes."""
    if mark.hand or not mark.note_ids:
        return mark.hand
    hands = set(heard.target.notes["hand"][np.isin(heard.target.notes["id"], mark.note_ids)].tolist())
    return hands.pop() if len(hands) == 1 else ""


def _overlap(heard: Heard, mark: Mark, hand: str, touches: npt.NDArray[np.void]) -> list[Finding]:
    of_slur = np.isin(touches["id"], mark.note_ids) if mark.note_ids else np.ones(len(touches), bool)
    inside = of_slur & (touches["quarter"] > mark.start_quarter - _NEAR)
    inside &= touches["next_quarter"] < mark.end_quarter + _NEAR
    bars = (int(touches["bar"][inside].min()), int(touches["bar"][inside].max())) if np.any(inside) else None
    place = Place(bars, hand_or_none(hand), mark.id)
    judged = inside & touches["usable"] & ~touches["repeated"] & ~touches["pedal"]
    n = int(np.count_nonzero(judged))
    if n < _FEWEST:
        why = _why_not(n, inside, touches)
        return [Finding.missing("overlap", "ms", why, n=n, place=place),
                Finding.missing("overlap_ratio", "1", why, n=n, place=place)]  # fmt: skip
    overlap = touches["overlap_s"][judged]
    ms, ratio = median_of(1000 * overlap), median_of(overlap / touches["step_s"][judged])
    limit = heard.practice.limit("overlap_ratio")
    return [
        Finding("overlap", ms.value, "ms", n, ms.low, ms.high, None, place),
        Finding("overlap_ratio", ratio.value, "1", n, ratio.low, ratio.high, limit, place),
    ]


def _why_not(n: int, inside: Bools, touches: npt.NDArray[np.void]) -> str:
    if np.count_nonzero(inside & touches["pedal"]) >= _FEWEST - n:
        return "the pedal was down: joined by the pedal, and the fingers are not judged"
    if np.count_nonzero(inside & touches["repeated"]) >= _FEWEST - n:
        return "repeated notes cannot overlap"
    return f"it takes {_FEWEST} steps under a slur, and {n} came"


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


def _hold(heard: Heard, hand: str, kind: str, mark: str, onsets: Floats, touches: npt.NDArray[np.void]) -> Finding:
    inside = np.isin(np.round(touches["quarter"], 6), onsets)
    judged = inside & touches["usable"] & ~touches["phrase_end"]
    n = int(np.count_nonzero(judged))
    bars = (int(touches["bar"][inside].min()), int(touches["bar"][inside].max())) if np.any(inside) else None
    place = Place(bars, hand_or_none(hand), mark)
    if n < _FEWEST:
        why = f"it takes {_FEWEST} notes in a row with this mark, and {n} came"
        return Finding.missing("hold_ratio", "1", why, n=n, place=place)
    e = median_of(hold_of(touches[judged]))
    limit: Limit | None = heard.practice.limit(f"hold_ratio_{kind}")
    return Finding("hold_ratio", e.value, "1", n, e.low, e.high, limit, place)
