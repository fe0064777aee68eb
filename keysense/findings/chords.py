"""Do the notes of a chord sound at once?

Conventions
    A chord is what is written on one onset, both hands, grace notes aside. Times are those of the keys.

Findings
    chord_spread (ms): last key down minus first, median over the chords, exact sign-test interval (the spreads lie
        lopsided); one row for all, and where two hands play one more for each hand that has chords. Missing below six.

    chords_rolled (count): chords of three notes or more in one hand whose keys went down one after the other, upwards
        or downwards, over more time than the limit; n is the chords of so many notes. ``how`` says "up" or "down". Told
        only where there are any: a spread chord is a way of playing, not untidiness.

References
    Computed: 12,323 professional chords spread 31 ms in the median, 69 ms at the 95th percentile.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Heard, hand_or_none
from keysense.findings.rows import median_row, onset_groups, place_of

__all__ = ["chord_spread", "chords_rolled"]

_FEWEST_NOTES = 3


def chord_spread(heard: Heard) -> list[Finding]:
    """The spread of all chords, then of each hand's own where both hands play."""
    both = len(heard.hands) > 1
    return [row for hand in (None, *(heard.hands if both else ())) for row in _spread(heard, hand)]


def _spread(heard: Heard, hand: str | None) -> list[Finding]:
    notes = heard.target.notes[~heard.target.notes["is_grace"]]
    onset = np.round(notes["onset_quarter"][notes["hand"] == hand if hand is not None else slice(None)], 6)
    if len(np.unique(onset)) == len(onset):
        return []
    groups = onset_groups(heard, hand)
    spread = np.array([1000 * np.ptp(heard.rows["onset_s"][group]) for group in groups])
    chosen = heard.rows[np.concatenate([np.zeros(0, np.int64), *groups])]
    place = place_of(heard, chosen, hand or "")
    row = median_row(heard, "chord_spread", "ms", spread, place, what="chords", lopsided=True)
    return [row if row.low is None else replace(row, low=max(0.0, row.low))]  # a coarse clock widens it, not below 0


def chords_rolled(heard: Heard) -> list[Finding]:
    """How many chords were spread, and where; nothing where none was."""
    full = [(hand, group) for hand in heard.hands for group in onset_groups(heard, hand) if len(group) >= _FEWEST_NOTES]
    if not full:
        return []
    least_s = heard.practice.value("chord_rolled") / 1000
    places = tuple(
        Place((int(heard.rows["bar"][group[0]]),) * 2, hand_or_none(hand), how=way)
        for hand, group in full
        if (way := _rolled(heard.rows["pitch"][group], heard.rows["onset_s"][group], least_s))
    )
    if not places:
        return []
    return [Finding("chords_rolled", len(places), "count", len(full), places=places)]


def _rolled(pitch: npt.NDArray[np.int64], onset_s: npt.NDArray[np.float64], least_s: float) -> str:
    """``up`` or ``down`` where the keys went down in their order and far enough apart, else nothing."""
    if float(np.ptp(onset_s)) <= least_s:
        return ""
    steps = np.diff(onset_s[np.argsort(pitch, kind="stable")])
    return "up" if np.all(steps > 0) else "down" if np.all(steps < 0) else ""
