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
    spread = 1000 * groups.spread(heard.rows["onset_s"])
    place = place_of(heard, heard.rows[groups.rows], hand or "")
    row = median_row(heard, "chord_spread", "ms", spread, place, what="chords", lopsided=True)
    return [row if row.low is None else replace(row, low=max(0.0, row.low))]  # a coarse clock widens it, not below 0


def chords_rolled(heard: Heard) -> list[Finding]:
    """How many chords were spread, and where; nothing where none was."""
    rows, least_s = heard.rows, heard.practice.value("chord_rolled") / 1000
    places, full = list[Place](), 0
    for hand in heard.hands:
        groups = onset_groups(heard, hand)
        groups = groups.where(groups.counts >= _FEWEST_NOTES)
        full += len(groups.start)
        for group in groups.where(groups.spread(rows["onset_s"]) > least_s).each():
            if way := _rolled(rows["pitch"][group], rows["onset_s"][group]):
                places.append(Place((int(rows["bar"][group[0]]),) * 2, hand_or_none(hand), how=way))
    return [Finding("chords_rolled", len(places), "count", full, places=tuple(places))] if places else []


def _rolled(pitch: npt.NDArray[np.int64], onset_s: npt.NDArray[np.float64]) -> str:
    """``up`` or ``down`` where the keys went down in their order, else nothing."""
    steps = np.diff(onset_s[np.argsort(pitch, kind="stable")])
    return "up" if np.all(steps > 0) else "down" if np.all(steps < 0) else ""
