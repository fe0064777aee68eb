"""One hand and then the other in one take: each played alone, as a piece is learnt.

A reading holds for a whole take: both hands, or one. Right hand, left hand and both, one after the other, are none of
these, and each hand alone leaves half of the page unheard. So where a take went back, was lost, or has a run of presses
for no note, it is cut there, or at its longest silences, if its two sides lie on the keys of different hands, or of one
hand and of both. Each side is followed in the same way. The cut stands if the place is kept on both sides and more is
explained than without it.
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
_KEYS = 128


def by_turns(target: Target, take: Take, whole: Following, follow: Follow) -> Following:
    """The take cut where one hand took over from the other, each side followed; ``whole`` where it was not.

    whole: the take followed uncut; follow: how a part of it is followed.
    """
    astray = _longest_for_no_note(whole)
    went_back = len(whole.passes) > 1 and whole.confidence < c.TURN_DOUBT
    doubtful = whole.lost or went_back or np.ptp(astray) >= c.TURN_ASTRAY
    if not doubtful or len(take) < 2 * c.TURN_FROM or len(target.hands) < 2:
        return whole
    best: Following | None = None
    for cut in _cuts(target, take, [*astray, *(one["first_played"] for one in whole.passes[1:])]):
        parted = _cut_at(target, take, cut, follow)
        if parted is not None and _better(parted, whole):
            best = parted if best is None else max(best, parted, key=_plainly)
            if parted.confidence >= c.TURN_DOUBT and len(parted.passes) <= len(whole.passes) and _all_told(parted):
                break  # hardly any other will be better
    return whole if best is None else best


def _all_told(following: Following) -> bool:
    """Whether no run of presses was played for no note."""
    return bool(np.ptp(_longest_for_no_note(following)) < c.TURN_ASTRAY)


def _plainly(following: Following) -> tuple[int, int]:
    """Of cuts that explain as much the one with the fewest stretches is the best."""
    return _explained(following), -len(following.passes)


def _cut_at(target: Target, take: Take, cut: int, follow: Follow) -> Following | None:
    """Both sides of a cut followed; None where the place is lost on either."""
    sides = []
    for notes in (take.notes[:cut], take.notes[cut:]):
        side = Take(notes, take.pedals, take.meta)
        sides.append(by_turns(target, side, follow(target, side), follow))
        if sides[-1].lost:
            return None
    return _joined(target, *sides)


def _better(cut: Following, whole: Following) -> bool:
    """Whether more is explained with a cut, or as much by no more stretches and believed more."""
    more = _explained(cut) - _explained(whole)
    as_plain = more >= 0 and len(cut.passes) <= len(whole.passes)
    return whole.lost or more >= c.TURN_GAIN or (as_plain and cut.confidence > whole.confidence)


def _explained(following: Following) -> int:
    """Matches less what was played for no note and less what was left out."""
    matched = int((following.pairs["kind"] == MATCH).sum())
    return matched - int((following.pairs["target"] < 0).sum()) - len(following.omitted)


def _longest_for_no_note(whole: Following) -> tuple[int, int]:
    """The longest run of presses that were played for no note: its first, and the one after its last."""
    paired = np.flatnonzero(whole.pairs["target"] >= 0)
    begin, end = np.append(0, paired + 1), np.append(paired, len(whole.pairs))
    at = int(np.argmax(end - begin))
    return int(begin[at]), int(end[at])


def _cuts(target: Target, take: Take, likely: list[int]) -> list[int]:
    """Presses at which a hand may have taken over, of those likely and those after a long silence: the clearest first,
    of those nearly as clear the one after the longest silence."""
    n, silence = len(take), np.diff(take.notes["onset_s"])
    longest = (np.argsort(-silence, kind="stable")[: c.TURN_SILENCES] + 1).tolist()
    places = np.unique([*longest, *likely])
    places = places[(places >= c.TURN_FROM) & (places <= n - c.TURN_FROM)]
    if not len(places):
        return []
    before, after = _fits(target, take.notes["pitch"].astype(np.int64), places)
    clear = places * before.max(0) + (n - places) * after.max(0)
    found = [
        (float(clear[k]), float(silence[cut - 1]), cut)
        for k, cut in enumerate(places.tolist())
        if _takes_over(before[:, k], after[:, k]) or _takes_over(after[:, k], before[:, k])
    ]
    enough = max((clear for clear, *_ in found), default=0.0) - c.TURN_UNCLEAR
    found.sort(key=lambda one: (min(one[0], enough), one[1]), reverse=True)
    return [cut for *_, cut in found[: c.TURNS_TRIED]]


def _fits(target: Target, pitch: Ints, places: Ints) -> tuple[Floats, Floats]:
    """How far the presses before and after each place lie on the keys of both hands, and of each, as often as these are
    written there: 0..1, a page a row and a place a column."""
    part = np.searchsorted(places, np.arange(len(pitch)), side="right")
    counts = np.bincount(part * _KEYS + pitch, minlength=(len(places) + 1) * _KEYS).reshape(-1, _KEYS)
    upto = np.cumsum(counts, axis=0)
    written, hand = target.notes["pitch"].astype(np.int64), target.notes["hand"]
    own = [written, *(written[hand == name] for name in target.hands)]
    pages = np.array([np.bincount(keys, minlength=_KEYS) / len(keys) for keys in own])[:, None]
    before, after = (side / side.sum(1, keepdims=True) for side in (upto[:-1], upto[-1] - upto[:-1]))
    return np.minimum(before, pages).sum(2), np.minimum(after, pages).sum(2)


def _takes_over(side: Floats, other: Floats) -> bool:
    """Whether one side lies on the keys of one hand, clearly better than on those of both, and the other does not."""
    hand = int(np.argmax(side))
    alone = hand > 0 and side[hand] > max(c.TURN_FITS, side[0] + c.TURN_CLEARLY)
    return bool(alone and other[hand] < other.max())


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
