"""A take made ready to be heard again: its notes, and for each note which hand, which bar and which notehead it is.

Each function takes a `Playback` and gives another; pedals go with the notes. Nothing here knows of samples or files.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from keysense.errors import SoundError
from keysense.following.following import Following
from keysense.notes import PEDAL, Take
from keysense.targets.target import Target, page_id

__all__ = [
    "LABEL",
    "NO_BAR",
    "Playback",
    "at_pace_of",
    "from_bar",
    "one_hand",
    "playback_of",
    "slower",
]

NO_BAR = -1
LABEL = np.dtype([("hand", "U1"), ("bar", "i4"), ("quarter", "f8"), ("passing", "i4"), ("note_id", "U64")])

_SLOWEST, _QUICKEST = 0.25, 2.0
_NEAR = 6  # so many notes round a note that is not on the page may lend it their hand
_SAME_S = 1e-9

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Playback:
    """Notes to be heard, with `LABEL` rows beside ``take.notes``.

    ``bar`` is `NO_BAR`, ``quarter`` NaN and ``note_id`` empty for a note that is not on the page; its ``hand`` is that
    of its neighbour. Without music beside it every label is so, and every hand empty. ``span_quarter``: where the music
    begins and ends, None without it.
    """

    take: Take
    labels: npt.NDArray[np.void]
    span_quarter: tuple[float, float] | None = None

    @property
    def hands(self) -> tuple[str, ...]:
        """The hands that can be heard apart, right before left."""
        there = set(np.unique(self.labels["hand"]).tolist())
        return ("R", "L") if {"R", "L"} <= there else ()

    @property
    def bars(self) -> list[tuple[int, float]]:
        """Each written bar that was played, with when it was first begun (s), in the order of the page."""
        onset, bar = self.take.notes["onset_s"], self.labels["bar"]
        return [(int(b), float(onset[bar == b].min())) for b in np.unique(bar[bar != NO_BAR])]

    def to_json(self, ends_s: Floats) -> dict[str, Any]:
        """Plain types for the browser; ``ends_s`` is when each note stops sounding.

        A note is [onset_s, end_s, pitch, velocity, hand, bar or null, page id, quarter or null]; a bar is
        [number, start_s]; ``span`` is the music's first and last quarter or null.
        """
        rows = zip(self.take.notes, ends_s.tolist(), self.labels, strict=True)
        return {
            "schema": 1,
            "hands": list(self.hands),
            "span": None if self.span_quarter is None else list(self.span_quarter),
            "bars": [[bar, round(start_s, 4)] for bar, start_s in self.bars],
            "notes": [
                [
                    round(float(note["onset_s"]), 4), round(end_s, 4), int(note["pitch"]), int(note["velocity"]),
                    str(label["hand"]), None if label["bar"] == NO_BAR else int(label["bar"]),
                    page_id(str(label["note_id"])),
                    round(float(label["quarter"]), 4) if np.isfinite(label["quarter"]) else None,
                ]
                for note, end_s, label in rows
            ],
        }  # fmt: skip


def playback_of(take: Take, target: Target | None = None, following: Following | None = None) -> Playback:
    """A take from its first key on; with the music it was followed against, its notes know where they stand."""
    labels = np.zeros(len(take.notes), LABEL)
    labels["bar"], labels["quarter"] = NO_BAR, np.nan
    if target is not None and following is not None and not following.lost:
        for pair in following.pairs[following.pairs["target"] >= 0]:
            note = target.notes[pair["target"]]
            labels[pair["played"]] = (note["hand"], note["bar"], note["onset_quarter"], pair["passing"], note["id"])
        known = labels["note_id"] != ""
        if known.any():
            labels["hand"] = labels["hand"][_neighbours(take, known)]
    start_s = float(take.notes["onset_s"].min()) if len(take.notes) else 0.0
    span = None
    if target is not None and len(target.bars):
        last = target.bars[-1]
        span = float(target.bars["start_quarter"][0]), float(last["start_quarter"] + last["length_quarter"])
    return _retimed(Playback(take, labels, span), lambda t: t - start_s)


def one_hand(playback: Playback, hand: str) -> Playback:
    """Only the right (``R``) or the left (``L``) hand. Raises SoundError where the hands are not told apart."""
    if hand not in playback.hands:
        raise SoundError("the hands of this take are not told apart: hear both")
    return _only(playback, playback.labels["hand"] == hand)


def from_bar(playback: Playback, bar: int) -> Playback:
    """From the first time this bar was begun, or the next bar that was played; time 0 is there.

    Raises SoundError where that bar and all after it were not played.
    """
    starts = [start_s for number, start_s in playback.bars if number >= bar]
    if not starts:
        last = max((number for number, _ in playback.bars), default=None)
        raise SoundError(
            "the bars of this take are not known: hear it from its beginning" if last is None
            else f"bar {bar} was not played: the last one that was is bar {last}"
        )  # fmt: skip
    start_s = starts[0]
    after = _only(playback, playback.take.notes["onset_s"] >= start_s - _SAME_S)
    pedals = _pedals_from(playback.take.pedals, start_s)
    return _retimed(replace(after, take=replace(after.take, pedals=pedals)), lambda t: t - start_s)


def slower(playback: Playback, speed: float) -> Playback:
    """The same at a share of its speed: 0.5 is half as fast. Raises SoundError outside 0.25 to 2."""
    if not _SLOWEST <= speed <= _QUICKEST:
        raise SoundError(f"{speed:g} of the speed cannot be heard: choose from {_SLOWEST:g} to {_QUICKEST:g}")
    return playback if speed == 1.0 else _retimed(playback, lambda t: t / speed)


def at_pace_of(playback: Playback, other: Playback) -> Playback:
    """The same touch, loudness and joining, moved by another take's clock: one character in the other's coat.

    Written onsets that both played are laid on the other's times, what lies between moves with them, and beyond them
    both ends go on at the ratio of the two. Of what was played more than once the last time is heard.
    Raises SoundError where the two share fewer than two onsets of the page.
    """
    ours, theirs = _last_times(playback), _last_times(other)
    mine, yours = _clock(playback, ours), _clock(other, theirs)
    quarters = np.array(sorted(mine.keys() & yours.keys()))
    for clock in (mine, yours):
        quarters = quarters[_rising(np.array([clock[q] for q in quarters.tolist()]))]
    if len(quarters) < 2:
        raise SoundError("those two takes share too little of the page: choose two of one tune")
    before = np.array([mine[q] for q in quarters.tolist()])
    after = np.array([yours[q] for q in quarters.tolist()])
    ratio = (after[-1] - after[0]) / (before[-1] - before[0])

    def moved(t: Floats) -> Floats:
        inside: Floats = np.interp(t, before, after)
        early, late = np.minimum(t - before[0], 0.0), np.maximum(t - before[-1], 0.0)
        beyond: Floats = ratio * (early + late)
        return inside + beyond

    changed = _retimed(_only(playback, ours), moved)
    start_s = float(changed.take.notes["onset_s"].min())
    return _retimed(changed, lambda t: t - start_s)


def _last_times(playback: Playback) -> Bools:
    """The notes of the last time each notehead was played; a note that is not on the page goes with its neighbour."""
    labels = playback.labels
    last: dict[str, int] = {}
    for note_id, passing in zip(labels["note_id"].tolist(), labels["passing"].tolist(), strict=True):
        last[note_id] = max(passing, last.get(note_id, 0))
    known = labels["note_id"] != ""
    kept = np.array(
        [passing == last[i] for i, passing in zip(labels["note_id"].tolist(), labels["passing"].tolist(), strict=True)],
        dtype=bool,
    )
    return kept[_neighbours(playback.take, known)] if known.any() else kept


def _clock(playback: Playback, kept: Bools) -> dict[float, float]:
    """When each written onset sounded: the mean of its notes."""
    quarter, onset = playback.labels["quarter"], playback.take.notes["onset_s"]
    here = kept & np.isfinite(quarter)
    return {float(q): float(onset[here & (quarter == q)].mean()) for q in np.unique(quarter[here])}


def _rising(times: Floats) -> npt.NDArray[np.intp]:
    """The longest run of rows, in their order, whose times only rise: going back is left out."""
    ends: list[float] = []
    at: list[int] = []
    before = [-1] * len(times)
    for row, time_s in enumerate(times.tolist()):
        length = bisect_left(ends, time_s)
        before[row] = at[length - 1] if length else -1
        ends[length:] = [time_s, *ends[length + 1 :]]
        at[length:] = [row, *at[length + 1 :]]
    chain: list[int] = []
    row = at[-1] if at else -1
    while row >= 0:
        chain.append(row)
        row = before[row]
    return np.array(chain[::-1], dtype=np.intp)


def _neighbours(take: Take, known: Bools) -> npt.NDArray[np.intp]:
    """For each note itself if it is known, else the known note near it whose pitch is nearest."""
    rows, there = np.arange(len(known)), np.flatnonzero(known)
    onset, pitch = take.notes["onset_s"], take.notes["pitch"].astype(int)
    for row in np.flatnonzero(~known):
        near = there[np.argsort(np.abs(onset[there] - onset[row]), kind="stable")[:_NEAR]]
        rows[row] = near[np.argmin(np.abs(pitch[near] - pitch[row]))]
    return rows


def _only(playback: Playback, kept: Bools) -> Playback:
    take = replace(playback.take, notes=playback.take.notes[kept])
    return replace(playback, take=take, labels=playback.labels[kept])


def _retimed(playback: Playback, moved: Callable[[Floats], Floats]) -> Playback:
    notes, pedals = playback.take.notes.copy(), playback.take.pedals.copy()
    for column in ("onset_s", "release_s"):
        notes[column] = moved(notes[column])
    pedals["time_s"] = moved(pedals["time_s"])
    order = np.argsort(notes["onset_s"], kind="stable")
    take = replace(playback.take, notes=notes[order], pedals=pedals)
    return replace(playback, take=take, labels=playback.labels[order])


def _pedals_from(pedals: npt.NDArray[np.void], start_s: float) -> npt.NDArray[np.void]:
    """The pedals from a time on, each beginning as it stood then."""
    held = np.zeros(0, PEDAL)
    for controller in np.unique(pedals["controller"]):
        earlier = pedals[(pedals["controller"] == controller) & (pedals["time_s"] < start_s)]
        if len(earlier):
            held = np.append(held, earlier[-1:])
    held["time_s"] = start_s
    return np.concatenate([held, pedals[pedals["time_s"] >= start_s]])
