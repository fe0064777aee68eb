"""Does it grow, or fade, where the page asks for it?

Conventions
    One row a hairpin and hand; the notes are those struck from where the hairpin opens up to, but not at, where it
    closes, chords by the mean of their notes. Where the piano sends one velocity nothing is said. The page asks for one
    direction, so the 5 % that an interval may miss are parted unequally: 4.5 % on the side of claiming that it came,
    .5 % on the other (a two-sided interval of 95 % all the same, by which the smallest rise seen in four of five
    takes is a seventh smaller).

Findings
    rise (velocity): the Theil-Sen slope over the notes times the length of the hairpin in quarters; falling is
        negative. Its interval is Student's about the straight line of least squares, the scatter taken from the
        hairpin and from the hand's other notes about their own line, where the two scatter alike. Where line and
        Theil-Sen differ by more than a standard error (a note struck astray), the exact rank interval (Kendall) stands.
        Missing below five notes.
    rise_slope (velocity): the same slope a quarter, with its interval. rise_order (1): Kendall's tau-b of loudness and
        time, 1 where each note is louder than all before it, -1 softer; interval as in `keysense.findings.trend`. Both
        claim nothing by themselves, and are told where the rise is.
    rise_top (quarters): under a crescendo, how long after it opens the loudest event sounds, with all places that this
        scatter does not tell from it; missing ("can't tell") where those reach over more than half of the hairpin.

References
    Sen 1968 (memory). Check value (computed): [40 44 43 50 55 60 58 66]: slope 3.732 (2.8; 5.0) a note, tau .8571.
    Monotone shares are no measure: noise alone reaches an isotonic R2 of .74 with eight notes (computed). The top of
    seven notes is found in 50 % of takes at touch noise 6, in 37 % at 10 (simulated), so it is seldom told.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Limit, Place
from keysense.findings.heard import Events, Heard, hand_or_none
from keysense.findings.loudness import ONE_VELOCITY, one_velocity, scatter_outside
from keysense.findings.ranks import theil_sen, theil_sens
from keysense.findings.spans import NEAR, Under, under_each
from keysense.findings.stats import Estimate, chance_of, t_at
from keysense.findings.trend import kendall, mann_kendall
from keysense.practice import Practice
from keysense.targets.target import Mark

__all__ = ["ASKED", "rises"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
_FEWEST = 5
# 95.2 % in all; the choice between the two intervals costs some tenths of that
ASKED, OTHER = 0.955, 0.997  # the share below each side of the interval: that which the page asks for, and the other
_ALIKE = 0.01  # how seldom equal scatters may be taken for unlike, on each side
_MOST_AT_ONCE = 64  # notes under a hairpin


@dataclass(frozen=True)
class _Under:
    """The events of one hand under one hairpin, and the scatter about their line: its square and degrees of freedom.

    slope, size: of the line of least squares, and the sum of squares of the quarters about their mean. ranked: the
    slope by Theil-Sen, with its own interval.
    """

    mark: Mark
    quarter: Floats
    velocity: Floats
    place: Place
    slope: float
    size: float
    variance: float
    df: int
    ranked: Estimate


def rises(heard: Heard) -> list[Finding]:
    """The rise, and under a crescendo its top, of each hairpin and each hand that has notes under it."""
    marks = heard.marks_of("crescendo", "diminuendo")
    rows: list[tuple[int, list[Finding]]] = []
    for hand, events in heard.hand_events.items() if marks else ():
        written = np.sort(heard.target.notes["onset_quarter"][heard.target.notes["hand"] == hand])
        asked = _under_all(written, marks).counts > 0
        of_hand = [k for k, mark in enumerate(marks) if asked[k] and mark.hand in ("", hand)]
        found = _of_hand(heard, hand, events, [marks[k] for k in of_hand])
        rows += zip(of_hand, found, strict=True)
    return [finding for _, of_mark in sorted(rows, key=lambda row: row[0]) for finding in of_mark]


def _under_all(quarter: Floats, marks: Sequence[Mark]) -> Under:
    start, end = (np.array([getattr(mark, name) for mark in marks], float) for name in ("start_quarter", "end_quarter"))
    return under_each(quarter, start - NEAR, end - NEAR)


def _of_hand(heard: Heard, hand: str, events: Events, marks: list[Mark]) -> list[list[Finding]]:
    """The rows of each hairpin of one hand."""
    inside = _under_all(events.quarter, marks)
    bars, of_hand = inside.bars(events.bar), hand_or_none(hand)
    places = [Place(of_mark, of_hand, mark.id) for of_mark, mark in zip(bars, marks, strict=True)]
    counts, silent = inside.counts, one_velocity(heard)
    enough = np.flatnonzero((counts >= _FEWEST) & ~np.array(silent))
    lines = dict(zip(enough.tolist(), _lines(heard, events, inside, enough, marks, places), strict=True))
    return [
        _rise(lines[k], heard.practice)
        if k in lines
        else _missing(mark, place, ONE_VELOCITY if silent else "", n, heard.practice)
        for k, (mark, place, n) in enumerate(zip(marks, places, counts.tolist(), strict=True))
    ]


def _limit(mark: Mark, practice: Practice) -> Limit:
    step = practice.value("rise")
    return Limit(step, "min") if mark.kind == "crescendo" else Limit(-step, "max")


def _missing(mark: Mark, place: Place, why: str, n: int, practice: Practice) -> list[Finding]:
    why = why or f"it takes {_FEWEST} notes under a hairpin, and {n} came"
    tops = [Finding.missing("rise_top", "quarters", why, n=n, place=place)] if mark.kind == "crescendo" else []
    return [Finding.missing("rise", "velocity", why, n=n, place=place, limit=_limit(mark, practice)), *tops]


def _rise(under: _Under, practice: Practice) -> list[Finding]:
    mark, rising = under.mark, under.mark.kind == "crescendo"
    slope, chance = _slope(under)
    value, low, high = (v * (mark.end_quarter - mark.start_quarter) for v in slope.whole())
    limit = _limit(mark, practice)
    n, place = len(under.quarter), under.place
    rows = [Finding("rise", value, "velocity", n, low, high, limit, place, chance=chance),
            Finding("rise_slope", slope.value, "velocity", n, slope.low, slope.high, None, place)]  # fmt: skip
    e = kendall(under.velocity)
    rows.append(Finding("rise_order", e.value, "1", n, e.low, e.high, None, place))
    return [*rows, _top(under, practice.value("rise_top_widest"))] if rising else rows


def _lines(
    heard: Heard, events: Events, inside: Under, chosen: Ints, marks: list[Mark], places: list[Place]
) -> list[_Under]:
    """The chosen hairpins with the lines of their events.

    The scatter is that of these notes and of the hand's others together, unless the two plainly differ.
    """
    from scipy.special import fdtri

    if not len(chosen):
        return []
    quarters, velocities = inside.parts(events.quarter), inside.parts(events.velocity)
    ranked = _ranked([quarters[k] for k in chosen], [velocities[k] for k in chosen])
    x, y = (inside.centred(column) for column in (events.quarter, events.velocity))
    size, along, square = (inside.sums(values)[chosen] for values in (x * x, x * y, y * y))
    rss, df = np.maximum(0.0, square - along**2 / size), inside.counts[chosen] - 2
    rss_others, df_others = scatter_outside(heard, events)
    if df_others >= _FEWEST and rss_others > 0:
        ratio = (rss / df) / (rss_others / df_others)
        alike = (fdtri(df, df_others, _ALIKE) < ratio) & (ratio < fdtri(df, df_others, 1 - _ALIKE))
        rss, df = rss + np.where(alike, rss_others, 0.0), df + np.where(alike, df_others, 0)
    columns = (along / size, size, rss / df, df)
    return [
        _Under(marks[k], quarters[k], velocities[k], places[k], *figures)
        for k, *figures in zip(chosen.tolist(), *(column.tolist() for column in columns), ranked, strict=True)
    ]


def _ranked(quarters: list[Floats], velocities: list[Floats]) -> list[Estimate]:
    """Theil-Sen of each, those of one number of notes at once."""
    found: dict[int, Estimate] = {}
    for n in {len(quarter) for quarter in quarters}:
        alike = [k for k, quarter in enumerate(quarters) if len(quarter) == n]
        if n > _MOST_AT_ONCE:
            found.update((k, theil_sen(quarters[k], velocities[k])) for k in alike)
            continue
        x, y = (np.array([columns[k] for k in alike]) for columns in (quarters, velocities))
        found.update(zip(alike, theil_sens(x, y), strict=True))
    return [found[k] for k in range(len(quarters))]


def _slope(under: _Under) -> tuple[Estimate, float]:
    """Velocity a quarter, its interval leaning to the side that the page asks for; how often chance gives as much."""
    ranked, slope, se = under.ranked, under.slope, math.sqrt(under.variance / under.size)
    if ranked.value is None or abs(ranked.value - slope) > se > 0:
        return ranked, mann_kendall(under.velocity)[1]
    rising = under.mark.kind == "crescendo"
    asked, other = t_at(under.df, ASKED) * se, t_at(under.df, OTHER) * se
    below, above = (asked, other) if rising else (other, asked)
    side = ASKED if (slope > 0) is rising else OTHER
    chance = chance_of(slope, se, under.df) * (2 - ASKED - OTHER) / 2 / (1 - side)
    low, high = min(slope - below, ranked.value), max(slope + above, ranked.value)
    return Estimate(ranked.value, low, high, ranked.n), min(1.0, chance)


def _top(under: _Under, widest: float) -> Finding:
    """The loudest event; beside it all that are softer by no more than chance allows (Bonferroni over the others)."""
    at, velocity, n = under.quarter.tolist(), under.velocity.tolist(), len(under.quarter)
    least = max(velocity) - t_at(under.df, 1 - 0.05 / (n - 1)) * math.sqrt(2 * under.variance)
    likely = [quarter - under.mark.start_quarter for quarter, loud in zip(at, velocity, strict=True) if loud >= least]
    if likely[-1] - likely[0] > widest * (under.mark.end_quarter - under.mark.start_quarter):
        why = "the notes scatter too much to tell where the top was"
        return Finding.missing("rise_top", "quarters", why, n=n, place=under.place)
    top = at[velocity.index(max(velocity))] - under.mark.start_quarter
    return Finding("rise_top", top, "quarters", n, likely[0], likely[-1], None, under.place)
