"""The steps from event to event as they were played: what of them is swing, and what is another rhythm.

Conventions
    A step leads from one event to the next written one, in one pass. Of both hands together swing is taken out only
    where one of them swings by itself, since two hands apart are none; and what one hand played as another rhythm is
    that of both together: no step inside it tells of the pace.

Findings
    None of its own: what `keysense.findings.steps` judges.

References
    None: bookkeeping.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from keysense.findings.beats import NEAR, beats_at
from keysense.findings.free_time import written_free
from keysense.findings.heard import Events, Heard
from keysense.findings.rhythm_groups import groups_of, other_division
from keysense.findings.rhythm_pairs import Pairs, other_rhythm, pairs_of
from keysense.findings.swing import swing_of

__all__ = ["PlayedSteps", "free_between", "played_steps"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

_SHORTEST_S = 0.005


class PlayedSteps(NamedTuple):
    """Rows of the events, quarters, seconds; y: ln(seconds / quarters) less swing; free: it may take what time it
    likes; swing: ln of how much longer it is for that; other: of another rhythm. And the pairs and
    groups that were looked at for it."""

    first: Ints
    second: Ints
    length: Floats
    seconds: Floats
    y: Floats
    free: Bools
    swing: Floats
    other: Bools
    pairs: Pairs
    groups: list[Ints]


def played_steps(heard: Heard, events: Events) -> PlayedSteps:
    """The steps of one hand, or of all; worked out once a take."""
    return heard.once(("played", events), lambda: _played(heard, events))


def _played(heard: Heard, events: Events) -> PlayedSteps:
    first, second, seconds = _next_written(events)
    length = events.quarter[second] - events.quarter[first]
    free, start = free_between(heard, events, first, second), events.quarter[first]
    beats = beats_at(heard, start)
    alone = _each_alone(heard, events)
    pairs = pairs_of(beats, length, first, second, free)
    y = np.log(seconds / length)
    swing = swing_of(y, length, beats, pairs, heard.practice)
    if alone and not any(np.any(hand.swing) for _, hand in alone):
        swing = np.zeros_like(swing)
    y = y - swing
    other = other_rhythm(y, length, pairs, heard.practice)
    groups = groups_of(beats, length, first, free, pairs, heard.practice)
    other |= other_division(y, length, groups, heard.practice)
    for own, hand in alone:
        other |= _within(start, start + length, own.quarter[hand.first[hand.other]], hand.length[hand.other])
    return PlayedSteps(first, second, length, seconds, y, free, swing, other, pairs, groups)


def _next_written(events: Events) -> tuple[Ints, Ints, Floats]:
    """The rows of the events that each step leads from and to, and its seconds."""
    first = np.arange(max(0, len(events) - 1))
    second = first + 1
    seconds = events.time_s[second] - events.time_s[first]
    follows = (
        (events.rank[second] == events.rank[first] + 1)
        & (events.passing[second] == events.passing[first])
        & (seconds > _SHORTEST_S)
        & ~events.again[second]
    )
    return first[follows], second[follows], seconds[follows]


def free_between(heard: Heard, events: Events, first: Ints, second: Ints, until: Floats | None = None) -> Bools:
    """Whether the way from one event to another may take what time it likes; until: as for `written_free`."""
    phrase, section = heard.phrase_of(events.quarter), heard.section_of(events.quarter)
    free = (phrase[first] != phrase[second]) | (section[first] != section[second])
    return np.asarray(free | written_free(heard, events, first, second, until))


def _each_alone(heard: Heard, events: Events) -> list[tuple[Events, PlayedSteps]]:
    """The steps of each hand by itself, where these are the events of both."""
    if events is not heard.all_events or len(heard.hands) < 2:
        return []
    return [(heard.hand_events[hand], played_steps(heard, heard.hand_events[hand])) for hand in heard.hands]


def _within(start: Floats, end: Floats, since: Floats, length: Floats) -> Bools:
    """Which steps lie inside some others."""
    if not len(since):
        return np.zeros(len(start), bool)
    at = np.searchsorted(since, start + NEAR) - 1
    return np.asarray((at >= 0) & (end <= (since + length)[np.clip(at, 0, None)] + NEAR))
