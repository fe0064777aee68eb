"""Do the accented notes stand out?

Conventions
    One hand at a time, chords by the mean of their notes; where the piano sends one velocity nothing is said.

Findings
    accent (velocity): how much louder the events under an accent are than the hand's own line (a quadratic a phrase)
        through all its events; least squares, Student's interval; one row a hand. Missing with fewer than two accents
        heard, or fewer than six degrees of freedom.

References
    The limit is the just noticeable loudness step (Slade et al. 2022).
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Events, Heard, hand_or_none
from keysense.findings.loudness import ONE_VELOCITY, one_velocity
from keysense.findings.shape import blocks_of, fit_by_block
from keysense.findings.spans import NEAR, named_by, under_each
from keysense.findings.stats import Estimate, t_quantile

__all__ = ["accents"]

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
_FEWEST_ACCENTS = 2
_FEWEST_DF = 6


def accents(heard: Heard) -> list[Finding]:
    """One row a hand that has accents on the page."""
    marked = bool(heard.marks_of("accent"))
    rows = [_accent(heard, hand, events) for hand, events in heard.hand_events.items()] if marked else []
    return [row for row in rows if row is not None]


def _accent(heard: Heard, hand: str, events: Events) -> Finding | None:
    asked = _accented(heard, hand)
    if not len(asked):
        return None
    struck = np.isin(events.quarter, asked)
    n = int(np.count_nonzero(struck))
    bars = (int(events.bar[struck].min()), int(events.bar[struck].max())) if n else None
    place = Place(bars, hand_or_none(hand))
    if one_velocity(heard):
        return Finding.missing("accent", "velocity", ONE_VELOCITY, n=n, place=place)
    e = _beside_line(heard, events, struck)
    if n < _FEWEST_ACCENTS or e.value is None or e.df < _FEWEST_DF:
        why = f"it takes {_FEWEST_ACCENTS} accents among enough other notes, and {n} of {len(events)} came"
        return Finding.missing("accent", "velocity", why, n=n, place=place)
    return Finding("accent", e.value, "velocity", n, e.low, e.high, heard.practice.limit("accent"), place)


def _beside_line(heard: Heard, events: Events, struck: Bools) -> Estimate:
    """How far the struck ones lie from the others: both without the line of their block (Frisch & Waugh)."""
    block = blocks_of(heard.phrase_of(events.quarter), events.passing, has_phrases=len(heard.target.phrases) > 0)
    line, p = fit_by_block(events.quarter, events.velocity, block)
    usual, _ = fit_by_block(events.quarter, struck.astype(float), block)
    alone, loud, df = struck - usual, events.velocity - line, len(events) - p - 1
    size = float(alone @ alone)
    if df < 1 or size < 1e-9:
        return Estimate(None, None, None, len(events))
    value = float(alone @ loud) / size
    left = loud - value * alone
    se = math.sqrt(float(left @ left) / df / size)
    half = t_quantile(df) * se
    return Estimate(value, value - half, value + half, len(events), se, df)


def _accented(heard: Heard, hand: str) -> Floats:
    """The written onsets of one hand that carry an accent."""
    marks = [mark for mark in heard.marks_of("accent") if mark.hand in ("", hand)]
    target, onset = heard.asked(hand), heard.asked_onsets(hand)
    start = np.array([np.inf if mark.note_ids else mark.start_quarter for mark in marks], float)
    end = np.array([max(mark.end_quarter, mark.start_quarter + 1e-3) for mark in marks], float)
    under = np.concatenate([under_each(onset, start - NEAR, end - NEAR).rows, named_by(heard, marks, target).rows])
    return np.asarray(onset[under], float)
