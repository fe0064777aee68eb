"""A tune played in by the teacher becomes a target: her own playing is the page.

Conventions
    Note values are read from her own recording with a tapped or a given pulse, see `keysense.targets.quantise`; of
    several recordings the majority of the notes and the median of the times count, see `keysense.targets.merging`.
    A note lasts to the place of the tune nearest to where its key came up, and at least to the next grid place.
    Breaths are proposed where all keys were up, or time was taken, clearly more than elsewhere; each becomes a breath
    mark and ends a phrase. The teacher has the last word on them. Bars are counted from the first tap or first note.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from keysense.errors import TargetError
from keysense.notes import Take
from keysense.targets.merging import Event, Playing, agreed, events_of, likeness
from keysense.targets.quantise import TICKS, clean_taps, ticks_by_taps, ticks_by_tempo
from keysense.targets.target import BAR, TARGET_NOTE, Mark, Source, Target

__all__ = ["model_target"]

_FEWEST_NOTES = 2
_FEWEST_TAPS = 3
_SAME_TUNE = 0.5
_FEWEST_ONSETS_A_PHRASE = 4
_MORE_AIR = 0.2  # quarters of silence beyond the usual
_MORE_TIME = 0.18  # ln of time taken beyond the usual


def model_target(
    takes: Sequence[Take],
    *,
    taps_s: npt.ArrayLike | None = None,
    tempo_qpm: float | None = None,
    quarters_per_bar: float = 4,
    pick_up_quarters: float = 0,
    split_pitch: int | None = None,
    title: str = "",
) -> Target:
    """A target from one or more recordings of the same tune.

    taps_s: seconds of a pulse tapped along with the first recording, one tap a quarter, the first on a bar line.
    tempo_qpm: instead of taps, about how many quarters a minute; the first note then stands ``pick_up_quarters``
    before the first bar line. split_pitch: the lowest MIDI pitch of the right hand; without it there are no hands.
    Raises TargetError when there is nothing to read, no pulse, or a pulse that cannot be one.
    """
    if not takes or any(len(take) < _FEWEST_NOTES for take in takes):
        raise TargetError("a recording of the tune has fewer than two notes: play it in again from beginning to end")
    if not 0 < quarters_per_bar <= 64:
        raise TargetError(f"{quarters_per_bar:g} quarters a bar cannot be: give 4 for 4/4, 3 for 3/4 or 6/8")
    playings = [events_of(take) for take in takes]
    for k, other in enumerate(playings[1:], 2):
        if likeness(playings[0], other) < _SAME_TUNE:
            raise TargetError(f"recording {k} does not sound like the first: bring recordings of one tune, each whole")
    playing = agreed(playings)
    if len(playing.events) < _FEWEST_NOTES:
        raise TargetError("all keys of the recording go down at once: play the tune in again, note after note")
    if taps_s is not None:
        ticks = ticks_by_taps(np.array([event.onset_s for event in playing.events]), _taps(taps_s))
        if min(b - a for a, b in pairwise(ticks)) <= 0:
            raise TargetError("there are more notes between two taps than a quarter holds: tap once a quarter")
    elif tempo_qpm is not None:
        if not 10 <= tempo_qpm <= 400:
            raise TargetError(f"{tempo_qpm:g} quarters a minute is no pulse: give a number such as 90, or tap along")
        start, bar = -round(pick_up_quarters * TICKS), max(1, round(quarters_per_bar * TICKS))
        ticks = ticks_by_tempo(playing.intervals_s, tempo_qpm, start, bar)
    else:
        raise TargetError("no pulse was given: tap along with the recording, or say how many quarters a minute")
    return _target(playing, np.array(ticks) / TICKS, quarters_per_bar, split_pitch, title)


def _taps(taps_s: npt.ArrayLike) -> npt.NDArray[np.float64]:
    taps = np.sort(np.asarray(taps_s, dtype=float).ravel())
    if len(taps) < _FEWEST_TAPS or not np.isfinite(taps).all() or float(np.median(np.diff(taps))) < 0.1:
        raise TargetError(
            f"{len(taps)} taps make no pulse: tap once a quarter, from the first bar line, at least three times"
        )
    return clean_taps(taps)


def _target(
    playing: Playing, places: npt.NDArray[np.float64], quarters_per_bar: float, split_pitch: int | None, title: str
) -> Target:
    period_s = _period_s(playing.intervals_s, np.diff(places))
    bars = _bars(places, quarters_per_bar)
    rows = []
    for k, event in enumerate(playing.events):
        for pitch, release_s in event.release_s.items():
            length = _length(playing.events, places, k, release_s, period_s, bars)
            rows.append((places[k], length, pitch, _hand(pitch, split_pitch)))
    notes = np.zeros(len(rows), TARGET_NOTE)
    for row, (onset, length, pitch, hand) in zip(notes, rows, strict=True):
        row["onset_quarter"], row["duration_quarter"], row["pitch"], row["hand"] = onset, length, pitch, hand
    notes["id"] = [f"n{k}" for k in range(1, len(notes) + 1)]
    notes["voice"] = 1
    notes["bar"] = bars["number"][np.searchsorted(bars["start_quarter"], notes["onset_quarter"] + 1e-6, "right") - 1]
    marks = _breaths(playing, places, period_s, notes, bars)
    tempo_qpm = round(60.0 / (period_s * playing.pace), 2)
    return Target(notes, bars, _phrases(notes, marks), marks, tempo_qpm, Source("model", title))


def _period_s(intervals_s: npt.NDArray[np.float64], values: npt.NDArray[np.float64]) -> float:
    """Seconds a quarter: the mean of the middle three fifths of the intervals, each counted by its value.

    What lies outside are breaths, waits and slips of the reading.
    """
    periods = intervals_s / values
    order = np.argsort(periods)
    above = np.cumsum(values[order]) / values.sum()
    below = above - values[order] / values.sum()
    share = np.clip(np.minimum(above, 0.8) - np.maximum(below, 0.2), 0.0, None)
    return float((periods[order] * share).sum() / share.sum())


def _bars(places: npt.NDArray[np.float64], quarters_per_bar: float) -> npt.NDArray[np.void]:
    """Bars of one length from quarter 0; what comes before is bar 0, the pick-up."""
    first = places[0] if places[0] < 0 else 0.0
    count = max(1, int(np.floor(places[-1] / quarters_per_bar)) + 1)
    starts = np.arange(count) * float(quarters_per_bar)
    bars = np.zeros(count + (first < 0), BAR)
    bars["number"] = np.arange(0 if first < 0 else 1, count + 1)
    bars["start_quarter"] = np.concatenate([[first], starts]) if first < 0 else starts
    bars["length_quarter"] = quarters_per_bar
    if first < 0:
        bars["length_quarter"][0] = -first
    return bars


def _hand(pitch: int, split_pitch: int | None) -> str:
    return "" if split_pitch is None else "R" if pitch >= split_pitch else "L"


def _length(
    events: list[Event], places: npt.NDArray[np.float64], k: int, release_s: float, period_s: float,
    bars: npt.NDArray[np.void],
) -> float:  # fmt: skip
    """Quarters from the key going down to the place of the tune nearest to where it came up."""
    if k + 1 == len(events):
        left = float(bars["start_quarter"][-1] + bars["length_quarter"][-1] - places[k])
        held = (release_s - events[k].onset_s) / period_s
        return left if held > left / 2 else max(1.0, float(round(held)))
    onsets = np.array([event.onset_s for event in events[k + 1 :]])
    nearest = k + 1 + int(np.argmin(np.abs(onsets - release_s)))
    length = float(places[nearest] - places[k])
    held = (release_s - events[k].onset_s) / period_s
    if nearest == k + 1 and length - held > 1 and held < 0.4 * length:
        # Let go long before the next note: a rest stands between them.
        return max(0.5, float(np.ceil(2 * held) / 2))
    return length


def _breaths(
    playing: Playing, places: npt.NDArray[np.float64], period_s: float, notes: npt.NDArray[np.void],
    bars: npt.NDArray[np.void],
) -> tuple[Mark, ...]:  # fmt: skip
    """Proposed breaths, each at the next event's place."""
    values = np.diff(places)
    taken = np.log(playing.intervals_s / (values * period_s))
    taken -= np.median(taken)
    spread = 1.4826 * float(np.median(np.abs(taken)))
    breathed = (_air(playing.events, period_s) > _MORE_AIR) & (values >= 0.5)
    breathed |= taken > max(_MORE_TIME, 3 * spread)
    marks: list[Mark] = []
    begun = 0
    for k in np.flatnonzero(breathed).tolist():
        if k + 1 - begun < _FEWEST_ONSETS_A_PHRASE or len(places) - k - 1 < _FEWEST_ONSETS_A_PHRASE:
            continue
        begun = k + 1
        ids = tuple(notes["id"][notes["onset_quarter"] == places[k]].tolist())
        bar = int(bars["number"][np.searchsorted(bars["start_quarter"], places[k] + 1e-6, "right") - 1])
        at = float(places[k + 1])
        marks.append(Mark("breath", at, at, f"breath-b{bar}-{len(marks) + 1}", "", "proposed", ids))
    return tuple(marks)


def _air(events: list[Event], period_s: float) -> npt.NDArray[np.float64]:
    """Quarters of silence before each event but the first, beyond what this touch leaves after such a note."""
    air, share = [], []
    down, up = 0.0, -np.inf
    for event, after in pairwise(events):
        last = max(event.release_s.values())
        if last >= up:
            down, up = event.onset_s, last
        air.append(max(0.0, after.onset_s - up) / period_s)
        share.append(max(0.0, after.onset_s - up) / (after.onset_s - down))
    lengths = np.array(air) / np.maximum(np.array(share), 1e-9)
    return np.array(air) - float(np.median(share)) * np.where(np.array(share) > 0, lengths, 0.0)


def _phrases(notes: npt.NDArray[np.void], marks: tuple[Mark, ...]) -> npt.NDArray[np.float64]:
    if not marks:
        return np.zeros((0, 2))
    end = float((notes["onset_quarter"] + notes["duration_quarter"]).max())
    edges = [float(notes["onset_quarter"][0]), *(mark.start_quarter for mark in marks), end]
    return np.array([edges[:-1], edges[1:]]).T
