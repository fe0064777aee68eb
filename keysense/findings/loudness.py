"""How loud, along which line, how even about it, and do the marked passages differ?

Conventions
    Loudness is MIDI velocity, 0 to 127, and means only what this piano makes of it. The line of a hand is drawn from
    its events, broken at phrase ends, rests and dynamic marks. Where the piano sends one velocity nothing is said.

Findings
    evenness_loudness (velocity): robust spread of the events about the hand's own line (a quadratic a phrase),
        1.4826 * median absolute residual * sqrt(n / (n - p)); one row a hand; missing below n - p = 8.
    loudness_contrast (velocity): mean velocity under the loudest dynamic mark minus that under the softest, Welch's
        interval; notes under hairpins are left out where enough others remain. Missing with fewer than three on a side.

References
    Dynamic marks have no fixed velocity: two public libraries disagree, professionals' "p" is 48 in one piece and 95
    in another (computed), so only the contrast inside one take is looked at.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Events, Heard, hand_or_none
from keysense.findings.shape import blocks_of, fit_by_block
from keysense.findings.stats import MAD_TO_SD, Estimate, chance_of, first_coefficient, robust_interval, welch
from keysense.targets.target import Mark

__all__ = ["ONE_VELOCITY", "evenness_loudness", "line_of", "loudness_contrast", "one_velocity",
           "scatter_outside", "stretches"]  # fmt: skip

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

ONE_VELOCITY = "the piano sends one loudness: touch is switched off, or it is an organ"
SOFT_TO_LOUD = ("pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff")
_FEWEST_DF = 8
_FEWEST_A_SIDE = 3
_NEAR = 1e-6


def one_velocity(heard: Heard) -> bool:
    """Whether the piano sends one loudness only, so that loudness cannot be judged."""
    return heard.once("one velocity", lambda: _one_velocity(heard))


def _one_velocity(heard: Heard) -> bool:
    if "one_velocity" in heard.take.meta.flags:
        return True
    velocity = heard.take.notes["velocity"].astype(int)
    return len(velocity) >= 12 and int(np.ptp(velocity)) <= 1


def evenness_loudness(heard: Heard) -> list[Finding]:
    """Scatter of the velocities about the hand's own line, one row a hand."""
    return [_evenness_of(heard, hand, events) for hand, events in heard.hand_events.items()]


def _evenness_of(heard: Heard, hand: str, events: Events) -> Finding:
    name, n = "evenness_loudness", len(events)
    place = Place(None if n == 0 else (int(events.bar.min()), int(events.bar.max())), hand_or_none(hand))
    if one_velocity(heard):
        return Finding.missing(name, "velocity", ONE_VELOCITY, n=n, place=place)
    fitted, p = line_of(heard, events.quarter, events.velocity, events.passing)
    if n - p < _FEWEST_DF:
        why = f"it takes {p + _FEWEST_DF} notes to tell their scatter from the line's shape, and {n} came"
        return Finding.missing(name, "velocity", why, n=n, place=place)
    middle = float(np.median(np.abs(events.velocity - fitted)))
    spread = MAD_TO_SD * middle * math.sqrt(n / (n - p))
    low, high = robust_interval(spread, n, p)
    return Finding(name, spread, "velocity", n, low, high, heard.practice.limit(name), place)


def line_of(heard: Heard, quarter: Floats, velocity: Floats, passing: Ints) -> tuple[Floats, int]:
    """The line that some notes of one hand follow, in written order, and how many parameters it has."""
    split = len(heard.target.phrases) > 0 or _stepped(heard)
    block = blocks_of(stretches(heard, quarter), passing, has_phrases=split)
    return fit_by_block(quarter, velocity, block, far=heard.practice.value("struck_astray"))


def scatter_outside(heard: Heard, events: Events) -> tuple[float, int]:
    """Residual sum of squares about the hand's own line, and its degrees of freedom, of the events under no hairpin."""
    return heard.once(("scatter outside", events), lambda: _scatter_outside(heard, events))


def _scatter_outside(heard: Heard, events: Events) -> tuple[float, int]:
    outside = np.ones(len(events), bool)
    for mark in heard.marks:
        if mark.kind in ("crescendo", "diminuendo"):
            first, after = np.searchsorted(events.quarter, [mark.start_quarter - _NEAR, mark.end_quarter - _NEAR])
            outside[first:after] = False
    if not np.any(outside):
        return 0.0, 0
    quarter, velocity = events.quarter[outside], events.velocity[outside]
    split = len(heard.target.phrases) > 0 or _stepped(heard)
    # what lies before a hairpin and what lies after it have no line in common
    gaps = np.cumsum(~outside)[outside]
    block = blocks_of(stretches(heard, quarter), events.passing[outside] + 1000 * gaps, has_phrases=split)
    fitted, p = fit_by_block(quarter, velocity, block)
    residual = velocity - fitted
    return float(residual @ residual), max(0, len(velocity) - p)


def _stepped(heard: Heard) -> bool:
    return any(mark.kind == "dynamic" for mark in heard.marks)


def stretches(heard: Heard, quarter: Floats) -> Ints:
    """Numbers that change at phrase ends and where a dynamic mark steps to another loudness."""
    number = heard.phrase_of(quarter)
    for mark in heard.marks:
        if mark.kind == "dynamic":
            number = number + (quarter > mark.start_quarter - _NEAR)
    return number


def loudness_contrast(heard: Heard) -> list[Finding]:
    """The loudest-marked passages minus the softest-marked ones, both hands together."""
    dynamics = [mark for mark in heard.marks if mark.kind == "dynamic" and mark.value in SOFT_TO_LOUD]
    marked = {mark.value for mark in dynamics}
    if len(marked) < 2:
        why = "the page marks no two loudnesses"
        return [Finding.missing("loudness_contrast", "velocity", why)]
    softest, *_, loudest = [value for value in SOFT_TO_LOUD if value in marked]
    soft, loud = _under(heard, dynamics, softest), _under(heard, dynamics, loudest)
    chosen = heard.rows[soft | loud]
    first = next(mark for mark in dynamics if mark.value == loudest)
    place = Place(heard.bars_of(chosen), None, first.id)
    n = len(chosen)
    if one_velocity(heard):
        return [Finding.missing("loudness_contrast", "velocity", ONE_VELOCITY, n=n, place=place)]
    if min(np.count_nonzero(soft), np.count_nonzero(loud)) < _FEWEST_A_SIDE:
        why = f"fewer than {_FEWEST_A_SIDE} notes were heard under one of {softest} and {loudest}"
        return [Finding.missing("loudness_contrast", "velocity", why, n=n, place=place)]
    e = _contrast(heard, soft, loud)
    limit = heard.practice.limit("loudness_contrast")
    chance = None if e.value is None else chance_of(e.value, e.se, e.df)
    return [Finding("loudness_contrast", e.value, "velocity", n, e.low, e.high, limit, place, chance=chance)]


def _under(heard: Heard, dynamics: list[Mark], value: str) -> npt.NDArray[np.bool_]:
    """Rows under one dynamic mark, without those under a hairpin where enough others remain."""
    marks = [mark for mark in dynamics if mark.value == value]
    inside = _covered(heard, marks)
    settled = inside & ~_covered(heard, [mark for mark in heard.marks if mark.kind in ("crescendo", "diminuendo")])
    return settled if int(settled.sum()) >= max(_FEWEST_A_SIDE, int(inside.sum()) // 4) else inside


def _covered(heard: Heard, marks: list[Mark]) -> npt.NDArray[np.bool_]:
    rows, quarter = heard.rows, np.ascontiguousarray(heard.rows["quarter"])
    covered = np.zeros(len(rows), bool)
    for hand in {mark.hand for mark in marks}:
        span = np.zeros(len(rows), bool)
        for mark in marks:
            if mark.hand == hand:
                end = mark.end_quarter if mark.end_quarter > mark.start_quarter else np.inf
                span[slice(*np.searchsorted(quarter, [mark.start_quarter - _NEAR, end - _NEAR]).tolist())] = True
        covered |= span & ((rows["hand"] == hand) | (hand == ""))
    return np.asarray(covered & ~rows["grace"], bool)


def _contrast(heard: Heard, soft: npt.NDArray[np.bool_], loud: npt.NDArray[np.bool_]) -> Estimate:
    """The difference, with two hands beside each hand's own level: a passage with more left hand is no softer."""
    velocity, hands = heard.rows["velocity"].astype(float), heard.rows["hand"]
    use = soft | loud
    if len(np.unique(hands[use])) < 2:
        return welch(velocity[soft], velocity[loud])
    columns = [loud[use], *(hands[use] == hand for hand in np.unique(hands[use]))]
    return first_coefficient(np.stack(columns, axis=1).astype(float), velocity[use])
