"""Is the rhythm the written one?

Conventions
    A pair is two neighbouring steps of one hand that begin on a beat of their bar and fill whole beats together, such
    as a dotted note and the short one after it; where three eighths are a beat (`keysense.findings.beats`), a quarter
    and an eighth, or a dotted eighth and its sixteenth. A rhythm is another one where at least four pairs of one
    written kind, taken together, are much nearer to another plain ratio (1:3, 1:2, 1:1, 2:1, 3:1) than to the written,
    or where each of two or three pairs is, alike, and beyond three times the scatter of the other steps; or where at
    least four groups of three or four notes that fill a beat or two were, alike, in another plain division
    (`keysense.findings.rhythm_groups`). Then its steps tell nothing of evenness or pace and none of them is a wait.

Findings
    rhythm_ratio (1): played over written ratio of the long note to the short one, whichever comes first, median over
        pairs of unequal notes, signed-rank interval; 1 is as written, less than 1 evened out, more sharpened; one row a
        hand; missing below three pairs.
    swing (1): first over second note of pairs of eighths that fill a quarter, median, likewise; missing below eight
        pairs, and where the interval leaves out 1 though too many pairs lie nearer to 1 than to the median. Where it is
        regular, tempo, drift, evenness and waits look at what is left without it.
    rhythm_other (count, with the place of each): the pairs and groups of the kinds that were played as another rhythm,
        among all that were looked at.

References
    Outside check of the lengths played: nPVI, Daniele & Patel 2013 (published); see `keysense.findings.contrast`.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.beats import NEAR
from keysense.findings.heard import Events, Heard, hand_or_none
from keysense.findings.played import played_steps
from keysense.findings.rhythm_pairs import Pairs
from keysense.findings.rows import median_row
from keysense.findings.steps import Steps, steps_of
from keysense.findings.swing import FEWEST_SWUNG, eighths_of, nearer_to_even

__all__ = ["rhythms"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


def rhythms(heard: Heard) -> list[Finding]:
    """Ratio, swing and other rhythms of each hand that has such pairs, or groups, on the page."""
    rows: list[Finding] = []
    for hand, events in heard.hand_events.items():
        steps, played = steps_of(heard, events), played_steps(heard, events)
        pairs, groups = played.pairs, played.groups
        rows += _of_pairs(heard, hand, events, steps, pairs)
        rows += _other(heard, hand, events, steps, np.concatenate([pairs.row, *(group[:, 0] for group in groups)]))
    return rows


def _of_pairs(heard: Heard, hand: str, events: Events, steps: Steps, pairs: Pairs) -> list[Finding]:
    played = steps.y + steps.swing
    bar, turn = events.bar[steps.first[pairs.row]], np.where(pairs.written < 1, -1, 1)  # long over short
    ratio = np.exp(turn * (played[pairs.row] - played[pairs.row + 1]))
    equal, eighths = np.abs(pairs.written - 1) < NEAR, eighths_of(steps.length, pairs)

    def place(use: npt.NDArray[np.bool_]) -> Place:
        return Place((int(bar[use].min()), int(bar[use].max())) if np.any(use) else None, hand_or_none(hand))

    rows = []
    if not np.all(equal):
        what = "pairs of a long and a short note"
        rows.append(median_row(heard, "rhythm_ratio", "1", ratio[~equal], place(~equal), what=what))
    if np.any(eighths):
        rows.append(_swing_row(heard, ratio[eighths], place(eighths)))
    return rows


def _other(heard: Heard, hand: str, events: Events, steps: Steps, row: Ints) -> list[Finding]:
    """How many pairs and groups, told by the step each begins with, were played as another rhythm, and where."""
    row = np.sort(row)
    other, bar = steps.other[row], events.bar[steps.first[row]]
    if len(row) < heard.practice.value("rhythm_pairs") and not np.any(other):
        return []
    places = tuple(Place((b, b)) for b in bar[other].tolist())  # the hand is told once, with the whole
    whole = Place((int(bar.min()), int(bar.max())), hand_or_none(hand))
    return [Finding("rhythm_other", len(places), "count", len(row), place=whole, places=places)]


def _swing_row(heard: Heard, ratio: Floats, place: Place) -> Finding:
    """The median of first over second; none where the pairs are some even, some not."""
    row = median_row(heard, "swing", "1", ratio, place, what="pairs of eighths", needed=FEWEST_SWUNG)
    if row.value is None or row.low is None or row.high is None or row.low <= 1 <= row.high:
        return row
    even, n = nearer_to_even(np.log(ratio)), len(ratio)
    if even <= (1 - heard.practice.value("rhythm_most")) * n:
        return row
    why = f"the pairs of eighths were not alike: {even} of {n} lay nearer to two even notes than to the middle one"
    return Finding.missing("swing", "1", why, n=n, place=place)
