"""Do the accented notes stand out?

Findings
    accent (velocity): how much louder the events under an accent are than the hand's own line (a quadratic a phrase)
        through all its events; least squares, Student's interval; one row a hand. Missing with fewer than two accents
        heard, or fewer than six degrees of freedom.

References
    The limit is the just noticeable loudness step (Slade et al. 2022).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Events, Heard, hand_or_none
from keysense.findings.loudness import ONE_VELOCITY, one_velocity
from keysense.findings.shape import blocks_of
from keysense.findings.stats import first_coefficient

__all__ = ["accents"]

Bools = npt.NDArray[np.bool_]
_FEWEST_ACCENTS = 2
_FEWEST_DF = 6


def accents(heard: Heard) -> list[Finding]:
    """One row a hand that has accents on the page."""
    marked = any(mark.kind == "accent" for mark in heard.marks)
    rows = [_accent(heard, hand, events) for hand, events in heard.hand_events.items()] if marked else []
    return [row for row in rows if row is not None]


def _accent(heard: Heard, hand: str, events: Events) -> Finding | None:
    written = heard.target.notes[(heard.target.notes["hand"] == hand) & ~heard.target.notes["is_grace"]]
    if not np.any(_under(heard, hand, written["onset_quarter"], written["id"])):
        return None
    struck = _under(heard, hand, events.quarter, heard.rows["id"][events.row])
    n = int(np.count_nonzero(struck))
    bars = (int(events.bar[struck].min()), int(events.bar[struck].max())) if n else None
    place = Place(bars, hand_or_none(hand))
    if one_velocity(heard):
        return Finding.missing("accent", "velocity", ONE_VELOCITY, n=n, place=place)
    block = blocks_of(heard.phrase_of(events.quarter), events.passing, has_phrases=len(heard.target.phrases) > 0)
    columns = [struck.astype(float)]
    for number in np.unique(block):
        inside = block == number
        x = np.where(inside, events.quarter - events.quarter[inside].mean(), 0.0)
        columns += [inside.astype(float), x, x**2]
    e = first_coefficient(np.stack(columns, axis=1), events.velocity)
    if n < _FEWEST_ACCENTS or e.value is None or e.df < _FEWEST_DF:
        why = f"it takes {_FEWEST_ACCENTS} accents among enough other notes, and {n} of {len(events)} came"
        return Finding.missing("accent", "velocity", why, n=n, place=place)
    return Finding("accent", e.value, "velocity", n, e.low, e.high, heard.practice.limit("accent"), place)


def _under(heard: Heard, hand: str, quarter: npt.NDArray[np.float64], ids: npt.NDArray[np.str_]) -> Bools:
    under = np.zeros(len(quarter), bool)
    for mark in heard.marks:
        if mark.kind != "accent" or mark.hand not in ("", hand):
            continue
        if mark.note_ids:
            notes = heard.target.notes
            at = np.round(notes["onset_quarter"][np.isin(notes["id"], mark.note_ids) & (notes["hand"] == hand)], 6)
            under |= np.isin(ids, mark.note_ids) | np.isin(np.round(quarter, 6), at)
        else:
            end = max(mark.end_quarter, mark.start_quarter + 1e-3)
            under |= (quarter > mark.start_quarter - 1e-6) & (quarter < end - 1e-6)
    return under
