"""Two players on one keyboard, each with a part of one score: whose press was whose.

The two parts are laid together as one target, the players taking the place of the hands, and the take is followed by
it: so one player may stop, be silent or sit an octave off. A press that was paired belongs to the part of its note.
What was played for no note goes by its MIDI channel where the players have each their own, else to the player whose
paired presses just then lie nearest on the keys. Then each player's presses are followed by the own part, alone.

`own_of` gives the presses of the one whose target it is, and their following: what findings are looked for in.
`placed` gives the same laid over the whole take, for hearing it again. Of a second player without a part on the page
see `aside`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from keysense.following.aside import inside
from keysense.following.follow import follow
from keysense.following.following import EXTRA, PAIR, Following
from keysense.notes import Take
from keysense.targets.target import BAR, TARGET_NOTE, Target

__all__ = ["Duet", "follow_two", "own_of", "placed", "together"]

Ints = npt.NDArray[np.int64]
_NEAR_S = 2.0  # presses so near in time say where a player's hands are
_SEMITONES_A_S = 4.0  # keys that weigh as much as a second of distance
_UNPAIRED_MOST = 0.25  # a larger share of presses for no note: two players cannot be told apart


@dataclass(frozen=True)
class Duet:
    """player: of each press of the take 0 or 1, as the parts were given. takes, followings: each player's own.

    apart: the players could be told apart. Where it is False nothing should be concluded on either; where a part alone
    was lost, its own following says so. Pedals stay with both.
    """

    player: Ints
    takes: tuple[Take, Take]
    followings: tuple[Following, Following]
    apart: bool


def follow_two(parts: Sequence[Target], take: Take) -> Duet:
    """Tell two players apart and follow each. parts: two targets on the same quarters, as two parts of one score are.

    Raises ValueError unless there are two parts.
    """
    first, second = parts
    joint, of_row = _joint(first, second)
    both = follow(joint, take)
    player = np.full(len(take), -1, np.int64)
    paired = both.pairs["target"] >= 0
    player[both.pairs["played"][paired]] = of_row[both.pairs["target"][paired]]
    unpaired = float((both.pairs["kind"] == EXTRA).mean()) if len(take) else 1.0
    apart = not both.lost and unpaired <= _UNPAIRED_MOST
    player = _rest(take, player)
    takes = tuple(Take(take.notes[player == p], take.pedals, take.meta) for p in (0, 1))
    return Duet(player, (takes[0], takes[1]), (follow(first, takes[0]), follow(second, takes[1])), apart)


def own_of(target: Target, take: Take) -> tuple[Take, Following]:
    """The presses of the player whose target it is, and their following; of a target for one player, all of them.

    Where two players cannot be told apart the whole take is given, its place called lost. Of a target for one player
    that is lost, the presses on one side of a gap between the keys, where these keep the place (`aside`).
    """
    if target.beside is None:
        whole = follow(target, take)
        found = inside(target, take, whole)
        return (take, whole) if found is None else (found.take, found.following)
    duet = follow_two((target, target.beside), take)
    return (duet.takes[0], duet.followings[0]) if duet.apart else (take, _not_apart(target, take))


def placed(target: Target, take: Take) -> Following:
    """The whole take followed by the target, what a second player played being extras."""
    if target.beside is None:
        whole = follow(target, take)
        found = inside(target, take, whole)
        return whole if found is None else _laid_over(take, found.following, found.rows)
    duet = follow_two((target, target.beside), take)
    if not duet.apart:
        return _not_apart(target, take)
    return _laid_over(take, duet.followings[0], np.flatnonzero(duet.player == 0))


def _laid_over(take: Take, own: Following, rows: Ints) -> Following:
    """The following of some rows of a take as one of the whole take."""
    pairs = np.zeros(len(take), PAIR)
    pairs["target"], pairs["kind"] = -1, EXTRA
    pairs[rows] = own.pairs
    pairs["played"] = np.arange(len(take))
    for one in (passes := [one.copy() for one in own.passes]):
        one["first_played"], one["last_played"] = int(rows[one["first_played"]]), int(rows[one["last_played"]])
    return replace(own, pairs=pairs, passes=passes)


def together(target: Target) -> Target:
    """What both players play as one target, the first as the right hand; of a target for one player that itself."""
    return target if target.beside is None else _joint(target, target.beside)[0]


def _not_apart(target: Target, take: Take) -> Following:
    return replace(follow(target, take), lost=True, confidence=0.0)


def _joint(first: Target, second: Target) -> tuple[Target, Ints]:
    """Both parts as one target, the first as the right hand; and of each of its rows the part."""
    of_row = np.repeat([0, 1], [len(first.notes), len(second.notes)])
    notes = np.concatenate([first.notes, second.notes]).astype(TARGET_NOTE)
    notes["hand"] = np.where(of_row, "L", "R")
    notes["id"] = np.char.add(np.where(of_row, "b-", "a-"), notes["id"])
    order = np.argsort(notes["onset_quarter"], kind="stable")
    bars = (first.bars if len(first.bars) >= len(second.bars) else second.bars).astype(BAR)
    return Target(notes[order], bars, tempo_qpm=first.tempo_qpm or second.tempo_qpm), of_row[order]


def _rest(take: Take, player: Ints) -> Ints:
    """Give the presses that were played for no note to a player too."""
    own = _own_channels(take, player)
    known, out = np.flatnonzero(player >= 0), player.copy()
    onset_s, pitch = take.notes["onset_s"], take.notes["pitch"].astype(float)
    for row in np.flatnonzero(player < 0).tolist():
        channel = int(take.notes["channel"][row])
        if channel in own:
            out[row] = own[channel]
            continue
        near = known[np.abs(onset_s[known] - onset_s[row]) < _NEAR_S]
        near = near if len(near) else known
        away = np.abs(pitch[near] - pitch[row]) + _SEMITONES_A_S * np.abs(onset_s[near] - onset_s[row])
        out[row] = player[near[away.argmin()]] if len(near) else 0
    return out


def _own_channels(take: Take, player: Ints) -> dict[int, int]:
    """The player of each MIDI channel, if the two play on channels of their own."""
    channel = take.notes["channel"]
    used = [set(channel[player == p].tolist()) for p in (0, 1)]
    if used[0] & used[1] or not used[0] or not used[1]:
        return {}
    return {number: p for p in (0, 1) for number in used[p]}
