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
    rise_top (quarters): under a crescendo, how long after it opens the loudest event sounds, with all places that this
        scatter does not tell from it; missing ("can't tell") where those reach over more than half of the hairpin.

References
    Sen 1968 (memory). Check value (computed): [40 44 43 50 55 60 58 66]: slope 3.732 (2.8; 5.0) a note. Monotone
    shares are no measure: noise alone reaches an isotonic R2 of .74 with eight notes (computed). The top of seven
    notes is found in 50 % of takes at touch noise 6, in 37 % at 10 (simulated), so it is seldom told.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Limit, Place
from keysense.findings.heard import Events, Heard, hand_or_none
from keysense.findings.loudness import ONE_VELOCITY, one_velocity, scatter_outside
from keysense.findings.ranks import theil_sen
from keysense.findings.stats import Estimate, t_at
from keysense.targets.target import Mark

__all__ = ["rises"]

Floats = npt.NDArray[np.float64]
_NEAR = 1e-6
_FEWEST = 5
_CLAIM, _OTHER = 0.955, 0.995  # the two sides of the interval
_ALIKE = 0.01  # how seldom equal scatters may be taken for unlike, on each side
_WIDEST = 0.5


@dataclass(frozen=True)
class _Under:
    """The events of one hand under one hairpin, and the scatter about their line: its square and degrees of freedom."""

    mark: Mark
    quarter: Floats
    velocity: Floats
    place: Place
    variance: float
    df: int


def rises(heard: Heard) -> list[Finding]:
    """The rise, and under a crescendo its top, of each hairpin and each hand that has notes under it."""
    rows: list[Finding] = []
    for mark in heard.marks:
        if mark.kind in ("crescendo", "diminuendo"):
            for hand, events in heard.hand_events.items():
                if mark.hand in ("", hand) and _written_under(heard, mark, hand):
                    rows += _rise(heard, mark, hand, events)
    return rows


def _written_under(heard: Heard, mark: Mark, hand: str) -> bool:
    notes = heard.target.notes
    onset = heard.once(("written", hand), lambda: np.sort(notes["onset_quarter"][notes["hand"] == hand]))
    first, after = np.searchsorted(onset, [mark.start_quarter - _NEAR, mark.end_quarter - _NEAR])
    return bool(after > first)


def _rise(heard: Heard, mark: Mark, hand: str, events: Events) -> list[Finding]:
    inside = slice(*np.searchsorted(events.quarter, [mark.start_quarter - _NEAR, mark.end_quarter - _NEAR]).tolist())
    n = len(events.quarter[inside])
    bars = (int(events.bar[inside].min()), int(events.bar[inside].max())) if n else None
    place = Place(bars, hand_or_none(hand), mark.id)
    why = ONE_VELOCITY if one_velocity(heard) else "" if n >= _FEWEST else _too_few(n)
    rising = mark.kind == "crescendo"
    if why:
        tops = [Finding.missing("rise_top", "quarters", why, n=n, place=place)] if rising else []
        return [Finding.missing("rise", "velocity", why, n=n, place=place), *tops]
    under = _under(heard, mark, events, inside, place)
    value, low, high = (v * (mark.end_quarter - mark.start_quarter) for v in _slope(under).whole())
    step = heard.practice.value("rise")
    limit = Limit(step, "min") if rising else Limit(-step, "max")
    row = Finding("rise", value, "velocity", n, low, high, limit, place)
    return [row, _top(under)] if rising else [row]


def _too_few(n: int) -> str:
    return f"it takes {_FEWEST} notes under a hairpin, and {n} came"


def _under(heard: Heard, mark: Mark, events: Events, inside: slice, place: Place) -> _Under:
    """The scatter is that of these notes and of the hand's others together, unless the two plainly differ."""
    from scipy.special import fdtri

    quarter, velocity = events.quarter[inside], events.velocity[inside]
    x, y = quarter - quarter.mean(), velocity - velocity.mean()
    rss, df = max(0.0, float(y @ y) - float(x @ y) ** 2 / float(x @ x)), len(quarter) - 2
    rss_others, df_others = scatter_outside(heard, events)
    if df_others >= _FEWEST and rss_others > 0:
        ratio = (rss / df) / (rss_others / df_others)
        if fdtri(df, df_others, _ALIKE) < ratio < fdtri(df, df_others, 1 - _ALIKE):
            rss, df = rss + rss_others, df + df_others
    return _Under(mark, quarter, velocity, place, rss / df, df)


def _slope(under: _Under) -> Estimate:
    """Velocity a quarter, its interval leaning to the side that the page asks for."""
    x, y = under.quarter - under.quarter.mean(), under.velocity
    ranked, n = theil_sen(under.quarter, y), len(y)
    slope, se = float(x @ y / (x @ x)), math.sqrt(under.variance / float(x @ x))
    if ranked.value is None or abs(ranked.value - slope) > se > 0:
        return ranked
    asked, other = t_at(under.df, _CLAIM) * se, t_at(under.df, _OTHER) * se
    below, above = (asked, other) if under.mark.kind == "crescendo" else (other, asked)
    return Estimate(ranked.value, min(slope - below, ranked.value), max(slope + above, ranked.value), n)


def _top(under: _Under) -> Finding:
    """The loudest event; beside it all that are softer by no more than chance allows (Bonferroni over the others)."""
    at, n = under.quarter - under.mark.start_quarter, len(under.quarter)
    most = float(under.velocity.max())
    chance = t_at(under.df, 1 - 0.05 / (n - 1)) * math.sqrt(2 * under.variance)
    likely = at[under.velocity >= most - chance]
    if np.ptp(likely) > _WIDEST * (under.mark.end_quarter - under.mark.start_quarter):
        why = "the notes scatter too much to tell where the top was"
        return Finding.missing("rise_top", "quarters", why, n=n, place=under.place)
    top = float(at[np.argmax(under.velocity)])
    return Finding("rise_top", top, "quarters", n, float(likely.min()), float(likely.max()), None, under.place)
