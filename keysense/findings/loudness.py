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
from keysense.findings.stats import MAD_TO_SD, Estimate, chance_of, first_coefficient, middle_of, robust_interval, welch
from keysense.targets.target import Mark

__all__ = ["ONE_VELOCITY", "evenness_loudness", "line_of", "line_of_events", "loudness_contrast", "one_velocity",
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
    n, apart = len(velocity), int(np.ptp(velocity)) if len(velocity) else 0
    names = ("one_velocity_alike", "one_velocity_notes", "one_velocity_span")
    few, many, span = (heard.practice.value(name) for name in names)
    return (n >= many and apart <= span) or (n >= few and apart == 0)


def evenness_loudness(heard: Heard) -> list[Finding]:
    """Scatter of the velocities about the hand's own line, one row a hand."""
    return [_evenness_of(heard, hand, events) for hand, events in heard.hand_events.items()]


def _evenness_of(heard: Heard, hand: str, events: Events) -> Finding:
    name, n = "evenness_loudness", len(events)
    place = Place(None if n == 0 else (int(events.bar.min()), int(events.bar.max())), hand_or_none(hand))
    if one_velocity(heard):
        return Finding.missing(name, "velocity", ONE_VELOCITY, n=n, place=place)
    fitted, p = line_of_events(heard, events)
    if n - p < _FEWEST_DF:
        why = f"it takes {p + _FEWEST_DF} notes to tell their scatter from the line's shape, and {n} came"
        return Finding.missing(name, "velocity", why, n=n, place=place)
    middle = middle_of(np.sort(np.abs(events.velocity - fitted)))
    spread = MAD_TO_SD * middle * math.sqrt(n / (n - p))
    low, high = robust_interval(spread, n, p)
    return Finding(name, spread, "velocity", n, low, high, heard.practice.limit(name), place)


def line_of(heard: Heard, quarter: Floats, velocity: Floats, passing: Ints) -> tuple[Floats, int]:
    """The line that some notes of one hand follow, in written order, and how many parameters it has."""
    split = len(heard.target.phrases) > 0 or _stepped(heard)
    block = blocks_of(stretches(heard, quarter), passing, has_phrases=split)
    return fit_by_block(quarter, velocity, block, far=heard.practice.value("struck_astray"))


def line_of_events(heard: Heard, events: Events) -> tuple[Floats, int]:
    """The line that the events of one hand follow; worked out once a take."""
    return heard.once(("line", events), lambda: line_of(heard, events.quarter, events.velocity, events.passing))


def scatter_outside(heard: Heard, events: Events) -> tuple[float, int]:
    """Residual sum of squares about the hand's own line, and its degrees of freedom, of the events under no hairpin."""
    return heard.once(("scatter outside", events), lambda: _scatter_outside(heard, events))


def _scatter_outside(heard: Heard, events: Events) -> tuple[float, int]:
    outside = np.ones(len(events), bool)
    spans = [(mark.start_quarter, mark.end_quarter) for mark in heard.marks_of("crescendo", "diminuendo")]
    for first, after in np.searchsorted(events.quarter, np.array(spans).reshape(-1, 2) - _NEAR).tolist():
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
    return bool(heard.marks_of("dynamic"))


def stretches(heard: Heard, quarter: Floats) -> Ints:
    """Numbers that change at phrase ends and where a dynamic mark steps to another loudness."""
    steps = np.sort(np.array([mark.start_quarter for mark in heard.marks_of("dynamic")], float)) - _NEAR
    return np.asarray(heard.phrase_of(quarter) + np.searchsorted(steps, quarter), np.int64)


def loudness_contrast(heard: Heard) -> list[Finding]:
    """The loudest-marked passages minus the softest-marked ones, both hands together."""
    dynamics = [mark for mark in heard.marks_of("dynamic") if mark.value in SOFT_TO_LOUD]
    marked = {mark.value for mark in dynamics}
    if len(marked) < 2:
        why = "the page marks no two loudnesses"
        return [Finding.missing("loudness_contrast", "velocity", why)]
    softest, *_, loudest = [value for value in SOFT_TO_LOUD if value in marked]
    soft, loud = _under(heard, dynamics, softest), _under(heard, dynamics, loudest)
    chosen = heard.rows["bar"][soft | loud]
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
    settled = inside & ~_covered(heard, heard.marks_of("crescendo", "diminuendo"))
    return settled if int(settled.sum()) >= max(_FEWEST_A_SIDE, int(inside.sum()) // 4) else inside


def _covered(heard: Heard, marks: list[Mark]) -> npt.NDArray[np.bool_]:
    rows, quarter = heard.rows, np.ascontiguousarray(heard.rows["quarter"])
    covered = np.zeros(len(rows), bool)
    for hand in {mark.hand for mark in marks}:
        ends = [(mark.start_quarter, mark.end_quarter if mark.end_quarter > mark.start_quarter else np.inf)
                for mark in marks if mark.hand == hand]  # fmt: skip
        span = np.zeros(len(rows), bool)
        for first, after in np.searchsorted(quarter, np.array(ends) - _NEAR).tolist():
            span[first:after] = True
        covered |= span & ((rows["hand"] == hand) | (hand == ""))
    return np.asarray(covered & ~rows["grace"], bool)


def _contrast(heard: Heard, soft: npt.NDArray[np.bool_], loud: npt.NDArray[np.bool_]) -> Estimate:
    """The difference, with two hands beside each hand's own level: a passage with more left hand is no softer."""
    velocity, use = heard.rows["velocity"], soft | loud
    hands = heard.rows["hand"][use]
    of_hands = [of_hand for of_hand in (hands == hand for hand in ("L", "R", "")) if np.any(of_hand)]
    if len(of_hands) < 2:
        return welch(velocity[soft], velocity[loud])
    return first_coefficient(np.stack([loud[use], *of_hands], axis=1).astype(float), velocity[use])
