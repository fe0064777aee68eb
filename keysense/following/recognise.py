"""Which piece is this? A pupil's repertoire ranked by how well each piece explains the take.

The value of the best path is a log odds: "this piece" against "notes of nothing in particular". The difference between
two pieces is the log odds between them. A reading that moves the piece, to another key or a hand by octaves, must pay
`RECOGNISE_MOVED`: some 250 of them are thought of, and of a wrong piece one of them nearly always fits best. A piece is
named only if it leads by `RECOGNISE_MARGIN` and is followed well enough, and better the more was heard: the right piece
may not be among those given, and a few notes of another tune fit, many do not. Otherwise the ranking is offered and the
teacher is asked. Where one piece explains the beginning and another the end clearly better than either explains the
whole, a cut is proposed: of places nearly as good, where the longest silence is, for the end of one tune may fit the
beginning of another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.choose import sweep_all
from keysense.following.duet import together
from keysense.following.hypotheses import hypotheses
from keysense.following.lane import Lane
from keysense.notes import Take
from keysense.targets.target import Target

__all__ = ["Candidate", "Cut", "Recognition", "recognise"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Candidate:
    """One piece: its place in the list given, its value in nats, and the share of what so many presses could reach."""

    index: int
    value: float
    share: float


@dataclass(frozen=True)
class Cut:
    """Two pieces in one take: the second begins at this press."""

    first: int
    second: int
    played: int


@dataclass(frozen=True)
class Recognition:
    """ranked: best first. decided: index of the piece, None where the teacher is to be asked. cut: where two stand."""

    ranked: tuple[Candidate, ...]
    decided: int | None
    cut: Cut | None


def recognise(take: Take, targets: Sequence[Target], *, rests: Sequence[int] = ()) -> Recognition:
    """Rank the targets by how well they explain the take.

    rests: presses before which a second piece may well begin; without them those before which nothing sounded.
    """
    curves = [_value_so_far(together(target), take) for target in targets]
    most = c.RIGHT * max(len(take.notes), 1)
    finals = [float(curve[-1]) for curve in curves]
    order = sorted(range(len(targets)), key=lambda i: -finals[i])
    ranked = tuple(Candidate(i, finals[i], finals[i] / most) for i in order)
    cut = _cut(curves, order, take, rests)
    return Recognition(ranked, None if cut is not None else _decided(ranked, len(take.notes)), cut)


def _decided(ranked: tuple[Candidate, ...], presses: int) -> int | None:
    if not ranked or presses < c.RECOGNISE_FROM:
        return None
    share, less = c.RECOGNISE_SHARE
    wanted = min(share - less / presses, c.RECOGNISE_SHARE_MOST)
    if ranked[0].share < wanted or ranked[0].value < c.RECOGNISE_VALUE:
        return None
    lead = ranked[0].value - (ranked[1].value if len(ranked) > 1 else 0.0)
    return ranked[0].index if lead >= c.RECOGNISE_MARGIN else None


def _value_so_far(target: Target, take: Take) -> Floats:
    """The value of the best path after each press, in nats; 0 at first."""
    pitch = take.notes["pitch"].astype(np.int64)
    out = np.zeros(len(pitch) + 1)
    if not len(target.notes) or not len(pitch):
        return out
    most: list[float] = []
    for hypothesis in hypotheses(target, pitch):
        _, curve = sweep_all(Lane(hypothesis), target, take, rival=most)
        price = c.RECOGNISE_MOVED if hypothesis.moved else 0.0
        kept = [value - price for value in curve] + most[len(curve) :]
        most = [max(pair) for pair in zip(kept, most or kept, strict=True)]
    out[1:] = most
    return out


def _cut(curves: list[Floats], order: list[int], take: Take, rests: Sequence[int]) -> Cut | None:
    """The best cut between one of the likeliest pieces and another, None where none gains enough."""
    best, most = None, 0.0
    whole = curves[order[0]][-1] if order else 0.0
    silence_s = _silences(take)
    silent = {*rests, *np.flatnonzero(silence_s >= c.CUT_SILENCE_S).tolist()}
    likely = set(order[: c.CUT_AMONG])
    for a, b in permutations(order, 2):
        gain = curves[a] + curves[b][-1] - curves[b] - whole
        if gain.max() <= max(c.CUT_GAIN_AT_REST, most) or likely.isdisjoint((a, b)):
            continue
        near = np.flatnonzero(gain >= gain.max() - c.CUT_NEAR).tolist()
        places = [max(near, key=lambda at: (at in rests, float(silence_s[at]), float(gain[at])))]
        if silent:
            places.append(max(silent, key=lambda at: float(gain[at])))
        for at in places:
            if gain[at] > max(c.CUT_GAIN_AT_REST if at in silent else c.CUT_GAIN, most):
                best, most = Cut(a, b, at), float(gain[at])
    return best


def _silences(take: Take) -> Floats:
    """How long nothing sounded before each press, in s; 0 before the first, and once more after the last."""
    out = np.zeros(len(take.notes) + 1)
    if len(take.notes):
        released = np.maximum.accumulate(take.notes["release_s"])
        out[1:-1] = np.maximum(take.notes["onset_s"][1:] - released[:-1], 0.0)
    return out
