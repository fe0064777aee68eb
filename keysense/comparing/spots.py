"""Places of a piece where the tune is caught again and again: in one pupil's takes, and in many pupils'.

Conventions
    A place is a written onset. A take is caught at a place once, whatever came there: a wait before it, another note,
    a note left out, the place reached before going back, a note put right or one struck again. The last two are no
    faults: what stands is as written, and who puts a note right has heard it; that it comes back each time is worth
    knowing all the same. Where several came at one place a child is told the one that came in most takes. Only takes
    that played the place count for it. Of more than twelve takes the newest twelve are looked at.

Findings
    A spot: caught in 3 of up to 5 takes, in 4 of 6 to 12, and more often than this pupil is caught elsewhere explains
    (binomial tail by the rate at the other places, times the number of places, at most .05). Fewer than 3 takes: can't
    tell yet. State: "there", or "gone" where the newest four takes that played it went through.
    A known tricky spot of the piece: a bar where at least 3 pupils have a spot, out of those who played it in 3 takes
    or more. Counts only: no names, in the order of the music.

References
    The two rules are common practice, no source. Computed by the binomial law with 32 places, each caught at 4 %: some
    false spot in 1.9 % of lists (3 of 5), .5 % (4 of 8), 3.1 % (4 of 12); a true spot (60 %) listed in 68, 83, 98 %.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding
from keysense.following.following import Following
from keysense.following.passes import went_back
from keysense.practice import Practice, read_practice
from keysense.targets.target import Target

__all__ = ["KINDS", "Caught", "PieceSpot", "Spot", "Spots", "caught_in", "piece_spots", "spots"]

Ints = npt.NDArray[np.int64]
KINDS = ("waited", "another note", "left out", "went back", "put right", "struck again")
_OF_FINDING = {
    "waits": "waited", "notes_other_pitch": "another note", "notes_left_out": "left out",
    "notes_corrected": "put right", "notes_again": "struck again",
}  # fmt: skip
_NEAR = 6  # decimals of a quarter


@dataclass(frozen=True)
class Caught:
    """Where one take was caught. played: the places that it played or left out; kinds: by place, what came there.

    A place is the quarter of a written onset, rounded to six decimals.
    """

    played: frozenset[float]
    kinds: Mapping[float, frozenset[str]] = field(default_factory=dict)


@dataclass(frozen=True)
class Spot:
    """One place: its bar, its beat in quarters from the bar's start (0 is the bar line), in how many of the takes that
    played it, and what came there, by kind."""

    quarter: float
    bar: int
    beat_quarter: float
    takes: int
    of: int
    kinds: Mapping[str, int]
    state: str = "there"


@dataclass(frozen=True)
class Spots:
    """The spots of one pupil in one piece, in the order of the music. rate: how often elsewhere, a share of chances."""

    spots: tuple[Spot, ...]
    takes: int
    places: int
    rate: float | None = None
    why: str = ""


@dataclass(frozen=True)
class PieceSpot:
    """A bar that catches pupils: how many have a spot there, of how many who played it often enough."""

    bar: int
    pupils: int
    of: int


def caught_in(findings: Iterable[Finding], following: Following, target: Target) -> Caught:
    """Where a take was caught, from what was found in it. A lost place has played nothing."""
    quarter = np.round(target.notes["onset_quarter"], _NEAR)
    if following.lost or not len(following.pairs):
        return Caught(frozenset())
    by_id = dict(zip(target.notes["id"].tolist(), quarter.tolist(), strict=True))
    kinds: dict[float, set[str]] = {}
    for finding in findings:
        for place in finding.places if finding.name in _OF_FINDING else ():
            if place.mark in by_id:
                kinds.setdefault(by_id[place.mark], set()).add(_OF_FINDING[finding.name])
    for last, _ in went_back(following, target):
        kinds.setdefault(float(quarter[last]), set()).add("went back")
    sounded = following.pairs["target"][following.pairs["target"] >= 0]
    played = {*quarter[sounded].tolist(), *quarter[following.omitted].tolist()}
    return Caught(frozenset(played), {place: frozenset(kind) for place, kind in kinds.items()})


def spots(takes: Sequence[Caught], target: Target, *, practice: Practice | None = None) -> Spots:
    """The spots of one pupil's takes of one piece, given in the order played."""
    table = practice or read_practice()
    few, many, most = (int(table.value(row)) for row in ("spot_few", "spot_many", "spot_takes"))
    newest = [take for take in takes if take.played][-most:]
    places = np.unique(np.round(target.notes["onset_quarter"], _NEAR))
    if len(newest) < few:
        return Spots((), len(newest), len(places), None, f"it takes {few} takes, and {len(newest)} came")
    played = np.array([[place in take.played for place in places.tolist()] for take in newest])
    caught = np.array([[place in take.kinds for place in places.tolist()] for take in newest]) & played
    of, times = played.sum(0), caught.sum(0)
    by_rule = (of >= few) & (times >= np.where(of <= table.value("spot_few_takes"), few, many))
    listed, rate = _beyond_chance(of, times, by_rule, table.value("false_claims"))
    gone = int(table.value("spot_gone"))
    found = tuple(_spot(k, places, newest, played, caught, target, gone) for k in np.flatnonzero(listed).tolist())
    return Spots(found, len(newest), len(places), rate)


def _beyond_chance(
    of: Ints, times: Ints, by_rule: npt.NDArray[np.bool_], chance: float
) -> tuple[npt.NDArray[np.bool_], float]:
    """Which places catch more takes than the rate at all others explains, and that rate; the clearest first, so that
    they do not hide the others."""
    listed = np.zeros(len(of), bool)
    while True:
        chances, caught = int(of[~listed].sum()), int(times[~listed].sum())
        own = ~listed
        rate = (caught - times * own) / np.maximum(chances - of * own, 1)
        more = listed | (by_rule & (_tail(times, of, rate) * len(of) <= chance))
        if (more == listed).all():
            return listed, caught / max(chances, 1)
        listed = more


def _tail(times: Ints, of: Ints, rate: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """How often chance alone catches so many takes of so many, or more."""
    from scipy.special import betainc

    whole = np.maximum(times, 1)
    return np.where(times > 0, betainc(whole, np.maximum(of - whole + 1, 1), rate), 1.0)


def _spot(
    k: int, places: npt.NDArray[np.float64], takes: Sequence[Caught], played: npt.NDArray[np.bool_],
    caught: npt.NDArray[np.bool_], target: Target, gone: int,
) -> Spot:  # fmt: skip
    quarter = float(places[k])
    counts = [sum(kind in take.kinds.get(quarter, ()) for take in takes) for kind in KINDS]
    lately = caught[:, k][played[:, k]][-gone:]
    state = "gone" if len(lately) == gone and not lately.any() else "there"
    bar, start = _bar(target, quarter)
    kinds = {kind: count for kind, count in zip(KINDS, counts, strict=True) if count}
    return Spot(quarter, bar, quarter - start, int(caught[:, k].sum()), int(played[:, k].sum()), kinds, state)


def _bar(target: Target, quarter: float) -> tuple[int, float]:
    """The written number of the bar of a place, and the quarter it starts at."""
    bar = int(target.notes["bar"][np.argmin(np.abs(target.notes["onset_quarter"] - quarter))])
    starts = target.bars["start_quarter"]
    before = starts[starts <= quarter + 10**-_NEAR]
    return bar, float(before.max()) if len(before) else 0.0


def piece_spots(
    pupils: Sequence[Sequence[Caught]], target: Target, *, practice: Practice | None = None
) -> tuple[PieceSpot, ...]:
    """The known tricky spots of a piece from the takes of each pupil; pupils have no names here, and no order."""
    table = practice or read_practice()
    fewest, few = int(table.value("spot_pupils")), int(table.value("spot_few"))
    bar_of = {float(q): int(b) for q, b in zip(np.round(target.notes["onset_quarter"], _NEAR), target.notes["bar"],
                                               strict=True)}  # fmt: skip
    affected: dict[int, int] = {}
    played: dict[int, int] = {}
    for takes in pupils:
        passed: dict[int, int] = {}
        for take in takes:
            for bar in {bar_of[place] for place in take.played if place in bar_of}:
                passed[bar] = passed.get(bar, 0) + 1
        for bar in [bar for bar, times in passed.items() if times >= few]:
            played[bar] = played.get(bar, 0) + 1
        for bar in {spot.bar for spot in spots(takes, target, practice=table).spots}:
            affected[bar] = affected.get(bar, 0) + 1
    return tuple(PieceSpot(bar, affected[bar], played[bar]) for bar in sorted(affected) if affected[bar] >= fewest)
