"""Does the melody stand out, and is it first?

Conventions
    The melody is the highest note of each onset in the right hand (in all, where the target tells no hands); where
    that hand has several voices, the highest of the voice that lies highest. Where the right hand holds or repeats
    chords and the left hand goes along by step, one note at a time and twice as often, the tune lies in the left
    hand. The rest is every other note of
    the bars that have both. Where no two written notes sound at once, as in a line that the hands share out, nothing
    accompanies it. This speaks of keys struck, not of the sound in the room.

Findings
    voicing (velocity): mean velocity of the melody minus that of the rest, Welch's interval, the keys of a chord taken
        together. Missing with fewer than three notes on a side. Where one of the two moves mostly while all is loud
        it stands out by that alone: then melody_lead_loudness, at the same onsets, is the one to trust.
    melody_lead (ms): mean onset of the other notes of an onset minus the melody's, median; positive, the melody came
        first. melody_lead_loudness (velocity): at the same onsets, the melody minus the others, median. Signed-rank
        intervals; missing below three such onsets.

References
    Goebl 2001 (published): melody lead about 30 ms, mostly an artefact of velocity (near zero at the key). Computed:
    about 1 ms a velocity unit; professionals' melody is 12 to 19 units above the rest.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Heard
from keysense.findings.loudness import ONE_VELOCITY, one_velocity
from keysense.findings.rows import grouped, means_apart, median_row, struck_at_once

__all__ = ["melody_lead", "voicing"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
_FEWEST_A_SIDE = 3
_BY_TURNS = "the melody and the rest were heard one after the other"
_PLAIN = 0.8  # the share of a hand's onsets that makes it one of chords, or of single notes
_TUNEFUL = 1 / 3  # the share of moves by step that a tune has and a broken chord has not
_MOST, _STEP, _LONG = 0.5, 2, 2.0  # a share; semitones; quarters


def _melody(heard: Heard) -> Bools:
    """Which rows are the melody; none where nothing accompanies it."""
    return heard.once("melody", lambda: _melody_of(heard))


def _melody_of(heard: Heard) -> Bools:
    rows = heard.rows
    index = heard.sounded(_hand_of_the_tune(heard))
    pitch = heard.target.notes["pitch"][rows["target"]].astype(float)
    voices = np.unique(rows["voice"][index])
    if len(voices) > 1:
        highest = max(voices.tolist(), key=lambda voice: float(pitch[index][rows["voice"][index] == voice].mean()))
        index = index[rows["voice"][index] == highest]
    sung = np.zeros(len(rows), bool)
    number = grouped(index, np.round(rows["quarter"][index], 6)).number
    order = np.lexsort((-index, pitch[index], number))  # of two as high the first one
    sung[index[order[np.append(np.diff(number[order]) != 0, True)]] if len(index) else index] = True
    return sung


def _hand_of_the_tune(heard: Heard) -> str:
    """The right hand, where it sounds; but the left one where it has the single line and the right one the chords."""
    if "R" not in heard.hands:
        return heard.hands[0] if heard.hands else ""
    if "L" in heard.hands:
        right, left = (_Struck.of(heard, hand) for hand in ("R", "L"))
        if min(right.chords, 1 - left.chords) > _PLAIN and left.times >= 2 * right.times:
            return "L" if left.by_step > _TUNEFUL and (right.stays > _MOST or right.quarters >= _LONG) else "R"
    return "R"


@dataclass(frozen=True)
class _Struck:
    """What a hand does on the page: how often it strikes; the shares of chords, of moves of two semitones at most, and
    of upper notes that come again; the usual length of its notes in quarters."""

    times: int
    chords: float
    by_step: float
    stays: float
    quarters: float

    @classmethod
    def of(cls, heard: Heard, hand: str) -> _Struck:
        notes, asked = heard.target.notes, heard.asked(hand)
        onset, first, size = np.unique(heard.asked_onsets(hand), return_index=True, return_counts=True)
        top = np.maximum.reduceat(notes["pitch"][asked].astype(int), first)
        moves = np.abs(np.diff(top)) if len(top) > 1 else np.full(1, 127)
        chords, by_step, stays = (float(np.mean(which)) for which in (size > 1, moves <= _STEP, moves == 0))
        quarters = float(np.median(notes["duration_quarter"][asked]))
        return cls(len(onset), chords, by_step, stays, quarters)


def _accompanied(heard: Heard) -> bool:
    """Whether two written notes sound at once anywhere: struck together, or one while another is held on."""
    onset, length = heard.asked_onsets(), heard.target.notes["duration_quarter"][heard.asked()]
    reach = np.maximum.accumulate(onset + length)[:-1] - heard.practice.value("held_on")
    return bool(np.any((onset[1:] == onset[:-1]) | (onset[1:] < reach)))


def voicing(heard: Heard) -> list[Finding]:
    """The melody's loudness minus the rest's; nothing for a single line."""
    if not _accompanied(heard):
        return []
    sung, counts = _melody(heard), ~heard.rows["grace"]
    bar = heard.rows["bar"] + (int(heard.rows["bar"].max(initial=0)) + 1) * heard.rows["passing"]  # of each playing
    both = np.isin(bar, bar[sung]) & np.isin(bar, bar[~sung & counts])
    by_turns = not both.any() and sung.any() and bool((~sung & counts).any())
    sung, counts = sung & both, counts & both
    velocity, onset = heard.rows["velocity"].astype(float), np.round(heard.rows["quarter"], 6)
    place = Place(heard.bars_of(heard.rows["bar"][counts]))
    melody, rest = velocity[sung], velocity[~sung & counts]
    n = len(melody) + len(rest)
    if one_velocity(heard):
        return [Finding.missing("voicing", "velocity", ONE_VELOCITY, n=n, place=place)]
    if min(len(melody), len(rest)) < _FEWEST_A_SIDE:
        why = _BY_TURNS if by_turns else f"fewer than {_FEWEST_A_SIDE} notes of the melody or of the rest were heard"
        return [Finding.missing("voicing", "velocity", why, n=n, place=place)]
    e = means_apart(rest, onset[~sung & counts], melody, onset[sung])
    return [Finding("voicing", e.value, "velocity", n, e.low, e.high, heard.practice.limit("voicing"), place)]


def melody_lead(heard: Heard) -> list[Finding]:
    """How long before the rest the melody sounds, and how much louder it is there."""
    if not _accompanied(heard):
        return []
    sung, rows = _melody(heard), heard.rows
    groups = struck_at_once(heard)
    index, number = groups.rows, groups.number
    one = np.bincount(number, sung[index], len(groups.start)) == 1
    lead = _others_minus(1000 * rows["onset_s"][index], sung[index], number)[one]
    louder = -_others_minus(rows["velocity"][index], sung[index], number)[one]
    place = Place(heard.bars_of(rows["bar"][index[one[number]]]))
    what = "places where the melody and another note are struck together"
    first = median_row(heard, "melody_lead", "ms", lead, place, what=what)
    if one_velocity(heard):
        beside = Finding.missing("melody_lead_loudness", "velocity", ONE_VELOCITY, n=len(louder), place=place)
    else:
        beside = median_row(heard, "melody_lead_loudness", "velocity", louder, place, what=what)
    return [first, beside]


def _others_minus(values: Floats, sung: Bools, number: Ints) -> Floats:
    """Mean of the others minus that of the melody, of each numbered group (which has both)."""
    sums, counts = (
        [np.bincount(number, weight * which) for which in (~sung, sung)] for weight in (values, np.ones(len(values)))
    )
    others, melody = (total / np.maximum(count, 1) for total, count in zip(sums, counts, strict=True))
    return np.asarray(others - melody)
