"""One hand and then the other in one take: each played alone, as a piece is learnt.

A reading holds for a whole take: both hands, or one. Right hand, left hand and both, one after the other, are none of
these, and each hand alone leaves half of the page unheard. So where a take went back or was lost, it is cut there, or
at its longest silences, if its two sides lie on the keys of different hands, or of one hand and of both. The first side
is followed by itself, the second in the same way as the whole. The cut stands if the place is kept on both sides and
more is explained than without it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from keysense.following import constants as c
from keysense.following.following import MATCH, Following, Pass
from keysense.notes import Take
from keysense.targets.target import Target

__all__ = ["by_turns"]

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Follow = Callable[[Target, Take], Following]


def by_turns(target: Target, take: Take, whole: Following, follow: Follow) -> Following:
    """The take cut where one hand took over from the other, each side followed; ``whole`` where it was not.

    whole: the take followed uncut; follow: how a part of it is followed.
    """
    doubtful = whole.lost or (len(whole.passes) > 1 and whole.confidence < c.TURN_DOUBT)
    if not doubtful or len(take) < 2 * c.TURN_FROM or len(target.hands) < 2:
        return whole
    cuts = [parted for cut in _cuts(target, take, whole) if (parted := _cut_at(target, take, cut, follow)) is not None]
    best = max(cuts, key=lambda parted: (_explained(parted), -len(parted.passes)), default=whole)
    return best if _better(best, whole) else whole


def _cut_at(target: Target, take: Take, cut: int, follow: Follow) -> Following | None:
    """Both sides of a cut followed; None where the place is lost on either."""
    first, rest = (Take(notes, take.pedals, take.meta) for notes in (take.notes[:cut], take.notes[cut:]))
    one = follow(target, first)
    other = one if one.lost else by_turns(target, rest, follow(target, rest), follow)
    return None if one.lost or other.lost else _joined(target, one, other)


def _better(cut: Following, whole: Following) -> bool:
    """Whether more is explained with a cut, or as much by no more stretches and believed more."""
    more = _explained(cut) - _explained(whole)
    as_plain = more >= 0 and len(cut.passes) <= len(whole.passes)
    return whole.lost or more >= c.TURN_GAIN or (as_plain and cut.confidence > whole.confidence)


def _explained(following: Following) -> int:
    """Matches less what was played for no note and less what was left out."""
    matched = int((following.pairs["kind"] == MATCH).sum())
    return matched - int((following.pairs["target"] < 0).sum()) - len(following.omitted)


def _cuts(target: Target, take: Take, whole: Following) -> list[int]:
    """Presses at which a hand may have taken over, where a pass began or after a long silence: the clearest first, of
    those nearly as clear the one after the longest silence."""
    silence, pitch = np.diff(take.notes["onset_s"]), take.notes["pitch"].astype(np.int64)
    longest = np.argsort(-silence, kind="stable")[: c.TURN_SILENCES] + 1
    places = {*longest.tolist(), *(one["first_played"] for one in whole.passes[1:])}
    pages, found = _pages(target), []
    for cut in sorted(places):
        if c.TURN_FROM <= cut <= len(take) - c.TURN_FROM:
            sides = [_fits(side, pages) for side in (pitch[:cut], pitch[cut:])]
            if _takes_over(*sides) or _takes_over(*sides[::-1]):
                clear = cut * sides[0].max() + (len(take) - cut) * sides[1].max()
                found.append((float(clear), float(silence[cut - 1]), cut))
    enough = max((clear for clear, *_ in found), default=0.0) - c.TURN_UNCLEAR
    found.sort(key=lambda one: (min(one[0], enough), one[1]), reverse=True)
    return [cut for *_, cut in found[: c.TURNS_TRIED]]


def _pages(target: Target) -> list[Floats]:
    """The share of each key in what is written for both hands, then for each."""
    pitch, hand = target.notes["pitch"].astype(np.int64), target.notes["hand"]
    return [_shares(pitch), *(_shares(pitch[hand == name]) for name in target.hands)]


def _fits(pitch: Ints, pages: list[Floats]) -> Floats:
    """How far presses lie on the keys of each page, as often as these are written there: 0..1."""
    own = _shares(pitch)
    return np.array([np.minimum(own, page).sum() for page in pages])


def _takes_over(side: Floats, other: Floats) -> bool:
    """Whether one side lies on the keys of one hand, clearly better than on those of both, and the other does not."""
    hand = int(np.argmax(side))
    alone = hand > 0 and side[hand] > max(c.TURN_FITS, side[0] + c.TURN_CLEARLY)
    return bool(alone and other[hand] < other.max())


def _shares(pitch: Ints) -> Floats:
    counts = np.bincount(pitch, minlength=128)
    return np.asarray(counts / max(counts.sum(), 1))


def _joined(target: Target, one: Following, other: Following) -> Following:
    """Two sides of a take as one following."""
    n = len(one.pairs)
    pairs = np.concatenate([one.pairs, other.pairs])
    pairs["played"][n:] += n
    times = np.bincount(one.pairs["target"][one.pairs["target"] >= 0], minlength=len(target.notes))
    again = np.append(times, 0)[other.pairs["target"]]  # -1, none, is the last
    pairs["passing"][n:] += again.astype(pairs["passing"].dtype)
    passes = [*one.passes, *(_moved(each, n) for each in other.passes)]
    left_out = np.setdiff1d(np.union1d(one.omitted, other.omitted), pairs["target"])
    paces = [each.tempo_ratio for each in (one, other) if each.tempo_ratio is not None]
    return replace(
        one,
        pairs=pairs,
        omitted=left_out.astype(np.int32),
        passes=passes,
        shift_semitones=one.shift_semitones | other.shift_semitones,
        tempo_ratio=float(np.mean(paces)) if paces else None,
        confidence=min(one.confidence, other.confidence),
        ties=[*one.ties, *((number + len(one.passes), bars) for number, bars in other.ties)],
    )


def _moved(one: Pass, by: int) -> Pass:
    return {**one, "first_played": one["first_played"] + by, "last_played": one["last_played"] + by}
