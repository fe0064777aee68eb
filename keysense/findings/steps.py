"""Steps in time from one event to the next, and where the tune waited.

Conventions
    A step's ``y`` is ln(seconds / written quarters): its log period, without the swing of eighths that one hand swings
    alike throughout; two hands apart are no swing. Steps that lead across a rest, a phrase end, a fermata or a grace
    note, and those of the last bar or of a written ritardando, are free: they tell nothing of evenness. A wait
    is a step longer than its neighbours lead one to expect, beyond the limit of ``practice.toml`` and beyond what this
    player's own unevenness explains; so is the way over a note or two that were left out.

Findings
    waits (count, with the place of each: the bar and id of the note that came late), goings_back (count).

References
    No published threshold was found for a wait; the limits are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Events, Heard, hand_or_none
from keysense.findings.jumps import Jump, jump_of
from keysense.findings.played import free_between, played_steps
from keysense.findings.rhythm_pairs import OWN_VERSION, own_rhythm
from keysense.findings.shape import blocks_of, fit_by_block
from keysense.findings.stats import MAD_TO_SD, middle_of
from keysense.following.passes import went_back

__all__ = ["Steps", "going_back", "shape_of", "steady_shape", "steps_of", "waits"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

_NEAR = 1e-6
_WINDOW = 9  # steps that tell what to expect of one in their midst
_FEWEST = 3  # of them
_LEFT_OUT = 2  # onsets left out after which the next may still be said to be late
_SHORTEST_S = 0.01


@dataclass(frozen=True, eq=False)
class Steps:
    """Steps between neighbouring events, in written order.

    start, length: quarters; seconds; y: ln(seconds / quarters) less swing: ln of how much longer it is for the swing of
    the eighths (`keysense.findings.swing`); first, second: rows of the events; phrase: number of the phrase; stretch:
    changes from pass to pass, at a newly written tempo and at the jump, where a new pace begins; free: the step may
    take what time it likes; long, short: far from what its neighbours lead one to expect; other: of a rhythm that was
    plainly played as another one (see `keysense.findings.rhythm`); own_rhythm: the tune was played in a rhythm of its
    own, so that none of them is.
    """

    start: Floats
    length: Floats
    seconds: Floats
    y: Floats
    swing: Floats
    first: Ints
    second: Ints
    phrase: Ints
    stretch: Ints
    free: Bools
    long: Bools
    short: Bools
    other: Bools
    own_rhythm: bool
    jump: Jump | None

    @cached_property
    def steady(self) -> Bools:
        """The steps that tell of tempo and evenness."""
        return ~(self.free | self.long | self.short | self.other)

    @property
    def swung(self) -> int:
        """How many parameters the swing took: one, or none where the eighths are not swung."""
        return int(np.any(self.swing))

    @property
    def even_s(self) -> Floats:
        """The seconds each step would have lasted without the swing."""
        return np.asarray(self.seconds * np.exp(-self.swing))


def steps_of(heard: Heard, events: Events) -> Steps:
    """The steps of one hand, or of all; worked out once a take."""
    return heard.once(("steps", events), lambda: _steps_of(heard, events))


def _steps_of(heard: Heard, events: Events) -> Steps:
    first, second, length, seconds, y, free, swing, other, *_ = played_steps(heard, events)
    own = own_rhythm(seconds[~free], length[~free], heard.practice)
    long, short = _off(heard, y, free | other)
    long, short = long & ~other, short & ~other
    section = heard.section_of(events.quarter)
    stretch = events.passing[first] * (int(section.max(initial=0)) + 1) + section[first]
    jump = _jump(heard, events, events.quarter[first], y, ~(free | other | long | short), stretch)
    if jump is not None:
        stretch = 2 * stretch + (events.quarter[first] > jump.quarter - _NEAR)
    phrase = heard.phrase_of(events.quarter)[first]
    return Steps(
        events.quarter[first], length, seconds, y, swing, first, second, phrase, stretch, free, long, short, other,
        own, jump,
    )  # fmt: skip


def _jump(heard: Heard, events: Events, start: Floats, y: Floats, use: Bools, stretch: Ints) -> Jump | None:
    """Where all steps together tell of a new pace; of one hand, too, it is what both tell together."""
    if events is not heard.all_events:
        return steps_of(heard, heard.all_events).jump
    if heard.free or not np.any(use) or np.ptp(stretch[use]) > 0:
        return None
    return jump_of(start[use], y[use], heard.target.phrases, heard.practice)


def _off(heard: Heard, y: Floats, free: Bools) -> tuple[Bools, Bools]:
    """Which steps are far longer, and which far shorter, than their neighbours lead one to expect."""
    usable = np.flatnonzero(~free)
    long, short = np.zeros(len(y), bool), np.zeros(len(y), bool)
    if len(usable) < _FEWEST:
        return long, short
    off = y - _expected(y, usable, np.arange(len(y)))
    ordinary, usual = _ordinary(heard, off[usable]), np.log(heard.practice.value("wait"))
    long = _too_long(heard, off, free, ordinary)
    short = ~free & (-off > max(usual, ordinary))
    return long, short


def _expected(y: Floats, usable: Ints, at: Ints) -> Floats:
    """What the nearest usable steps lead one to expect where steps (their numbers) are."""
    near = np.clip(np.searchsorted(usable, at), 0, len(usable) - 1)
    return np.asarray(_local_median(y[usable])[near])


def _ordinary(heard: Heard, off: Floats) -> float:
    """How far off a step may be by this player's own unevenness; nothing where there are few to tell."""
    spread = MAD_TO_SD * middle_of(np.sort(np.abs(off)))
    return heard.practice.value("wait_noise") * spread if len(off) >= 8 else 0.0


def _too_long(heard: Heard, off: Floats, free: Bools, ordinary: float) -> Bools:
    usual, allowed = np.log(heard.practice.value("wait")), np.log(heard.practice.value("wait_at_phrase_end"))
    return np.asarray(off > np.maximum(np.where(free, allowed, usual), ordinary))


def _local_median(y: Floats) -> Floats:
    """The median of the nearest nine steps (all, where there are fewer), shifted inwards at the ends."""
    n = len(y)
    if n <= _WINDOW:
        return np.full(n, np.median(y))
    middles = np.sort(np.lib.stride_tricks.sliding_window_view(y, _WINDOW), axis=1)[:, _WINDOW // 2]
    return np.asarray(middles[np.clip(np.arange(n) - _WINDOW // 2, 0, n - _WINDOW)])


def steady_shape(heard: Heard, steps: Steps) -> tuple[Floats, int]:
    """The shape of the phrases at the steady steps, and how many parameters it has; worked out once a take."""
    has_phrases = len(heard.target.phrases) > 0
    return heard.once(("shape", steps), lambda: shape_of(steps, steps.steady, has_phrases=has_phrases))


def shape_of(steps: Steps, use: Bools, *, has_phrases: bool) -> tuple[Floats, int]:
    """The same of some other steps: the curve of ln period."""
    block = blocks_of(steps.phrase[use], steps.stretch[use], has_phrases=has_phrases)
    fitted, p = fit_by_block(steps.start[use], steps.y[use], block)
    return fitted, p + steps.swung


def waits(heard: Heard) -> list[Finding]:
    """Where the tune waited, both hands together; phrase ends, rests and the last bar are allowed far more."""
    events = heard.all_events
    steps = steps_of(heard, events)
    if not len(steps.y):
        return [Finding.missing("waits", "count", "no two neighbouring notes were heard")]
    if steps.own_rhythm:
        return [Finding.missing("waits", "count", OWN_VERSION, n=len(steps.y))]
    late = np.sort(np.concatenate([steps.second[steps.long], _after_left_out(heard, events, steps)]))
    places = tuple(_place(heard, events, int(k)) for k in late)
    return [Finding("waits", len(places), "count", len(steps.y), places=places)]


def _after_left_out(heard: Heard, events: Events, steps: Steps) -> Ints:
    """The events that came far too late after a note or two that were left out: the tune waited there as well."""
    first = np.flatnonzero(np.diff(events.rank) > 1)
    second = first + 1
    usable = np.flatnonzero(~(steps.free | steps.other))
    on = (events.rank[second] <= events.rank[first] + 1 + _LEFT_OUT) & (events.passing[second] == events.passing[first])
    first, second = first[on & ~events.again[second]], second[on & ~events.again[second]]
    if not len(first) or len(usable) < _FEWEST:
        return np.zeros(0, np.int64)
    seconds = np.maximum(events.time_s[second] - events.time_s[first], _SHORTEST_S)
    y = np.log(seconds / (events.quarter[second] - events.quarter[first]))
    off = y - _expected(steps.y, usable, np.searchsorted(steps.first, first))
    ordinary = _ordinary(heard, steps.y[usable] - _expected(steps.y, usable, usable))
    free = free_between(heard, events, first, second, _sounds_until(heard, events.quarter[second]))
    return np.asarray(second[_too_long(heard, off, free, ordinary)])


def _sounds_until(heard: Heard, quarter: Floats) -> Floats:
    """Where the last written note that begins before each of some quarters ends."""
    notes = heard.target.notes
    onset, end = notes["onset_quarter"], notes["onset_quarter"] + notes["duration_quarter"]
    return np.array([np.max(end[onset < at - _NEAR], initial=0.0) for at in quarter.tolist()])


def going_back(heard: Heard) -> list[Finding]:
    """Where the player went back: one place a pass, at the bar it started from. To play it once more is none."""
    back = [int(heard.target.notes["bar"][row]) for _, row in went_back(heard.following, heard.target)]
    places = tuple(Place(bars=(bar, bar)) for bar in back)
    return [Finding("goings_back", len(places), "count", len(heard.following.passes), places=places)]


def _place(heard: Heard, events: Events, k: int) -> Place:
    row = heard.rows[events.row[k]]
    return Place(
        (int(row["bar"]), int(row["bar"])), hand_or_none(str(row["hand"])), str(heard.target.notes["id"][row["target"]])
    )
