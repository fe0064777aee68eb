"""Do the notes of a chord sound at once?

Conventions
    A chord is what is written on one onset, both hands, grace notes aside. Times are those of the keys. Where the page
    asks for a spread chord the keys are not meant to go down at once.

Findings
    chord_spread (ms): last key down minus first, median over the chords, exact sign-test interval (the spreads lie
        lopsided); one row for all, and where two hands play one more for each hand that has chords. Missing below six.

    chords_rolled (count): chords of three notes or more in one hand whose keys went down one after the other, upwards
        or downwards, over more time than the limit, though the page does not ask for it; n is the chords of so many
        notes. ``how`` says "up" or "down". Told only where there are any: a spread chord is a way of playing, not
        untidiness.
    chords_rolled_as_written (count): of the chords that the page asks to spread, of two notes or more in one hand,
        those that were, likewise; n is all such chords that were heard. Where an arrow stands, only its own way counts.

References
    Computed: 12,323 professional chords spread 31 ms in the median, 69 ms at the 95th percentile.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Heard, hand_or_none
from keysense.findings.rows import median_row, onset_groups, place_of, struck_at_once
from keysense.findings.spans import named_by

__all__ = ["chord_spread", "chords_rolled"]

_FEWEST_NOTES = 3


def chord_spread(heard: Heard) -> list[Finding]:
    """The spread of all chords, then of each hand's own where both hands play."""
    both = len(heard.hands) > 1
    return [row for hand in (None, *(heard.hands if both else ())) for row in _spread(heard, hand)]


def _spread(heard: Heard, hand: str | None) -> list[Finding]:
    if not _has_chords(heard, hand):
        return []
    groups = struck_at_once(heard, hand)
    spread = 1000 * groups.spread(heard.rows["onset_s"])
    place = place_of(heard, groups.rows, hand or "")
    row = median_row(heard, "chord_spread", "ms", spread, place, what="chords", lopsided=True)
    return [row if row.low is None else replace(row, low=max(0.0, row.low))]  # a coarse clock widens it, not below 0


def _has_chords(heard: Heard, hand: str | None) -> bool:
    onset = heard.asked_onsets(hand)
    return bool((onset[1:] == onset[:-1]).any())


def chords_rolled(heard: Heard) -> list[Finding]:
    """How many chords were spread, and where: those that are not written so (nothing where none was), and those that
    are (nothing where none is)."""
    own, full, asked, written = list[Place](), 0, list[Place](), 0
    for hand in heard.hands:
        if not _has_chords(heard, hand):
            continue
        groups = onset_groups(heard, hand)
        ways = _written_ways(heard, hand)
        for group in groups.where(groups.counts >= (2 if ways else _FEWEST_NOTES)).each():
            wanted = ways.get(int(heard.rows["target"][group[0]]))
            if wanted is None and len(group) < _FEWEST_NOTES:
                continue
            full, written = full + (wanted is None), written + (wanted is not None)
            way = _rolled(heard, group)
            if way and wanted in (None, "", way):
                place = Place((int(heard.rows["bar"][group[0]]),) * 2, hand_or_none(hand), how=way)
                (own if wanted is None else asked).append(place)
    rows = [Finding("chords_rolled", len(own), "count", full, places=tuple(own))] if own else []
    if written:
        rows.append(Finding("chords_rolled_as_written", len(asked), "count", written, places=tuple(asked)))
    return rows


def _written_ways(heard: Heard, hand: str) -> dict[int, str]:
    """Rows of the target that the page asks to spread, with the way of its arrow, empty where there is none."""
    marks = [mark for mark in heard.marks_of("spread") if mark.hand in ("", hand)]
    if not marks:
        return {}
    named = named_by(heard, marks, np.arange(len(heard.target.notes)))
    return {row: marks[k].value for row, k in zip(named.rows.tolist(), named.number.tolist(), strict=True)}


def _rolled(heard: Heard, group: npt.NDArray[np.int64]) -> str:
    """``up`` or ``down`` where the keys went down in their order and far enough apart, else nothing."""
    onset_s, least_s = heard.rows["onset_s"][group], heard.practice.value("chord_rolled") / 1000
    if float(onset_s.max() - onset_s.min()) <= least_s:
        return ""
    steps = np.diff(onset_s[np.argsort(heard.rows["pitch"][group], kind="stable")])
    return "up" if np.all(steps > 0) else "down" if np.all(steps < 0) else ""
