"""Which piece is this? A pupil's repertoire ranked by how well each piece explains the take.

The value of the best path is a log odds: "this piece" against "notes of nothing in particular". The difference between
two pieces is the log odds between them. A piece is named only if it leads by `RECOGNISE_MARGIN` and is followed well
enough; otherwise the ranking is offered and the teacher is asked. Where one piece explains the beginning and another
the end clearly better than either explains the whole, a cut is proposed.
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

    rests: presses before which nothing sounded for a while; a second piece may well begin there.
    """
    curves = [_value_so_far(together(target), take) for target in targets]
    most = c.RIGHT * max(len(take.notes), 1)
    finals = [float(curve[-1]) for curve in curves]
    order = sorted(range(len(targets)), key=lambda i: -finals[i])
    ranked = tuple(Candidate(i, finals[i], finals[i] / most) for i in order)
    cut = _cut(curves, order, rests)
    ask = cut is not None or len(take.notes) < c.RECOGNISE_FROM
    return Recognition(ranked, None if ask else _decided(ranked), cut)


def _decided(ranked: tuple[Candidate, ...]) -> int | None:
    if not ranked or ranked[0].share < c.RECOGNISE_SHARE or ranked[0].value < c.RECOGNISE_VALUE:
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
        _, curve = sweep_all(Lane(target, hypothesis), target, take, rival=most)
        kept = curve + most[len(curve) :]
        most = [max(pair) for pair in zip(kept, most or kept, strict=True)]
    out[1:] = most
    return out


def _cut(curves: list[Floats], order: list[int], rests: Sequence[int]) -> Cut | None:
    """The best cut between two of the likeliest pieces, None where none gains enough."""
    best, most = None, 0.0
    whole = curves[order[0]][-1] if order else 0.0
    for a, b in permutations(order[: c.CUT_AMONG], 2):
        gain = curves[a] + curves[b][-1] - curves[b] - whole
        places = [(int(gain.argmax()), c.CUT_GAIN)]
        if len(rests):
            places.append((max(rests, key=lambda at: float(gain[at])), c.CUT_GAIN_AT_REST))
        for at, least in places:
            if gain[at] > max(least, most):
                best, most = Cut(a, b, at), float(gain[at])
    return best
