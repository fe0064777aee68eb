"""`follow`: the notes of a take set beside the notes of its target.

The steps are told in the head of `keysense.following`.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from keysense.following.choose import Reading, decode
from keysense.following.confidence import confidence_of, is_lost, lost_at, own_tune, pair_confidence
from keysense.following.decode import JUMPED
from keysense.following.following import EXTRA, MATCH, ORNAMENT, PAIR, Following, Pass
from keysense.following.looks import second_looks
from keysense.following.ornaments import play_out
from keysense.following.pairing import Sounding
from keysense.following.passes import Stretch, stretches
from keysense.following.ties import elsewhere
from keysense.following.values import median
from keysense.following.written import written
from keysense.notes import Take
from keysense.targets.target import Target

__all__ = ["follow"]

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]


def follow(target: Target, take: Take) -> Following:
    """Pair every key press of a take with the note of the target it was played for.

    Survives other pitches, omissions, extra notes, waits, corrected notes, restarts and skips, any tempo from a third
    to three times, another tonality, a hand an octave off or silent, starts in the middle and unfinished takes.
    Nothing is raised on odd music: where the place is lost, `Following.lost` says so.
    """
    if not len(take.notes) or not len(target.notes):
        return _nothing(target, take)
    reading = decode(target, take)
    if not len(reading.path):
        return _nothing(target, take)
    sounding = _sounding(target, reading)
    parts = stretches(reading.path, len(take.notes))
    pairs = np.zeros(len(take.notes), PAIR)
    pairs["played"], pairs["target"], pairs["kind"] = np.arange(len(take.notes)), -1, EXTRA
    second_looks(parts, sounding, take, pairs)
    play_out(target, take, parts, sounding, pairs)
    _number(pairs)
    matched = pairs["kind"] == MATCH
    ornament = pairs["kind"] == ORNAMENT
    pairs["confidence"] = pair_confidence(np.where(ornament, MATCH, pairs["kind"]))
    presses = len(pairs) - int(ornament.sum())
    n, jumps = int(matched.sum()), int((reading.path["how"][1:] == JUMPED).sum())
    sure, kept = confidence_of(reading.value, presses, n, jumps)
    own = own_tune(reading.value, n, jumps, take.notes["pitch"][~ornament].astype(np.int64))
    lost = is_lost(sure, kept, own, presses)
    return Following(
        pairs=pairs,
        omitted=_omitted(pairs, parts, sounding),
        passes=_passes(target, pairs, parts),
        shift_semitones=_shift(target, reading),
        tempo_ratio=_tempo_ratio(target, take, pairs),
        confidence=sure,
        lost=lost,
        lost_at_s=lost_at(take.notes["onset_s"], matched) if lost else None,
        ties=_ties(target, pairs, parts, sounding),
    )


def _nothing(target: Target, take: Take) -> Following:
    """No path: lost. A press all by itself is laid on the first note of its key, which proves nothing."""
    pairs = np.zeros(len(take.notes), PAIR)
    pairs["played"], pairs["target"], pairs["kind"] = np.arange(len(take.notes)), -1, EXTRA
    at = float(take.notes["onset_s"][0]) if len(take.notes) else None
    alone = take.notes["pitch"][0] if len(take.notes) == 1 else -1
    written = np.flatnonzero(target.notes["pitch"] == alone)
    if len(written):
        pairs["target"], pairs["kind"] = written[0], MATCH
    return Following(pairs, np.zeros(0, np.int32), [], {}, None, 0.0, True, at)


def _sounding(target: Target, reading: Reading) -> Sounding:
    at, left = reading.lane.onsets, written(target).left
    left = left if len(at.rows) == len(left) else left[at.rows]
    return Sounding(at.rows, at.onset_of, at.onset_quarter, reading.hypothesis.pitch, left, at.at_row)


def _number(pairs: npt.NDArray[np.void]) -> None:
    """Count the passings of each target note, in the order played."""
    seen: dict[int, int] = {-1: 0}
    passing = []
    for note in pairs["target"].tolist():
        passing.append(seen.get(note, 0))
        seen[note] = passing[-1] + 1 if note >= 0 else 0
    pairs["passing"] = passing


def _span(pairs: npt.NDArray[np.void], part: Stretch) -> Ints:
    notes: Ints = pairs["target"][part.first_played : part.end_played].astype(np.int64)
    return notes[notes >= 0]


def _omitted(pairs: npt.NDArray[np.void], parts: list[Stretch], sounding: Sounding) -> npt.NDArray[np.int32]:
    """Sounding notes inside the played span that no press was paired with.

    Two notes written on one key at one time, by two voices or both hands, are one press: neither is left out then.
    """
    within = np.zeros(len(sounding.row), bool)
    for part in parts:
        at = sounding.onset_of[sounding.at_row[_span(pairs, part)]]
        if len(at):
            within |= (sounding.onset_of >= at.min()) & (sounding.onset_of <= at.max())
    sounded = np.zeros(len(sounding.at_row) + 1, bool)
    sounded[pairs["target"]] = True  # -1, none, is the last
    heard = sounded[sounding.row]
    key = 1000 * sounding.onset_of + sounding.pitch
    (silent,) = np.nonzero(within & ~heard)
    pressed = {*key[heard].tolist()} if len(silent) else set()
    return sounding.row[
        [i for i, k in zip(silent.tolist(), key[silent].tolist(), strict=True) if k not in pressed]
    ].astype(np.int32)


def _passes(target: Target, pairs: npt.NDArray[np.void], parts: list[Stretch]) -> list[Pass]:
    out: list[Pass] = []
    for part in parts:
        bars = target.notes["bar"][_span(pairs, part)]
        if len(bars):
            out.append(
                Pass(
                    first_bar=int(bars.min()), last_bar=int(bars.max()),
                    first_played=part.first_played, last_played=part.end_played - 1,
                )
            )  # fmt: skip
    return out


def _ties(
    target: Target, pairs: npt.NDArray[np.void], parts: list[Stretch], sounding: Sounding
) -> list[tuple[int, tuple[int, ...]]]:
    """Of each pass that may lie elsewhere: its number and every bar it may start in. The start of the piece is sure."""
    out = []
    for number, part in enumerate(part for part in parts if len(_span(pairs, part))):
        rows = pairs[part.first_played : part.end_played]
        matched = sounding.at_row[rows["target"][rows["kind"] == MATCH]]
        if len(matched) and (number or sounding.onset_of[matched].min() > 0):
            others = elsewhere(sounding, matched)
            if others:
                starts = np.array([*others, sounding.onset_of[matched].min()])
                bars = target.notes["bar"][sounding.row[np.searchsorted(sounding.onset_of, starts)]]
                out.append((number, tuple(sorted({*bars.tolist()}))))
    return out


def _shift(target: Target, reading: Reading) -> dict[str, int]:
    shift = reading.hypothesis.shift
    hands = target.hands or ("",)
    return {hand: shift.get(hand, 0) for hand in hands}


def _over_a_quarter(quarter: Floats, onset_s: Floats) -> tuple[Floats, Floats]:
    """Quarters and seconds from each note to the first at least a quarter further in its run, else to the next one."""
    ends = np.append(np.flatnonzero(np.diff(quarter) < -1e-6) + 1, len(quarter))
    steps, times, first = [], [], 0
    for end in ends.tolist():
        run, seconds = quarter[first:end], onset_s[first:end]
        later = np.searchsorted(run, run + 1.0 - 1e-6)
        if not (later < len(run)).any():
            later = np.arange(1, len(run) + 1)
        at = np.flatnonzero(later < len(run))
        steps.append(run[later[at]] - run[at])
        times.append(seconds[later[at]] - seconds[at])
        first = end
    return np.concatenate(steps), np.concatenate(times)


def _tempo_ratio(target: Target, take: Take, pairs: npt.NDArray[np.void]) -> float | None:
    """Played quarters a minute over the target's: the middle of the paces from each matched onset to one a quarter on.

    Over a quarter, since the long and the short note of a swung or a softened pair are of two paces.
    """
    if not target.tempo_qpm:
        return None
    got = pairs[pairs["kind"] == MATCH]
    quarter = target.notes["onset_quarter"][got["target"]]
    onset_s = take.notes["onset_s"][got["played"]]
    steps, times = _over_a_quarter(quarter, onset_s)
    use = (steps > 1e-6) & (times > 0.02)
    if not use.any():
        return None
    return float(60.0 * median(steps[use] / times[use]) / target.tempo_qpm)
