"""Which directions stand when a whole page of findings is looked at at once?

Conventions
    Every interval is one of 95 %, so of twenty findings of pure noise about one leaves out zero. A page that claims a
    direction for each of those would be wrong on two pages of five. Holm's step-down procedure keeps the chance that
    any direction on the page is claimed of nothing below 5 % (it is given 4.1), whatever hangs together. What the music
    asks for (its hairpins and its dynamics) shares seven tenths of that chance, everything else the rest: a question
    that was put beforehand may be answered sooner than one that nobody put. The chance of one finding is its own
    (`Finding.chance`), of a rise as it leans; where a finding has none, it is read from the interval: the part of it
    between the value and zero, as if it were Student's with three degrees of freedom fewer than notes (eight at least;
    far tails are heavy). A slur is held against its limit by itself, at 5 % a slur, and which way its keys miss each
    other by some thousandths of a second is told without being counted here: it is no claim, and of sixteen slurs whose
    keys go up just as the next go down, one page of two tells of some that they overlap, or do not. All of it rests on
    steps and notes that err each by itself: slopes of tempo and of two hands' loudness have wider intervals where
    neighbours plainly err alike (`keysense.findings.wander`), everything else has not, and a page of a take that
    wanders claims more often: simulated, in 18 of 100 takes where half of each error is carried on to the next, in 38
    where seven tenths are.

Findings
    Each finding's ``stands``: False where zero lies not inside its interval, and it does not stand beside the others.
    The slope and the order of a hairpin stand where its rise does.

References
    Holm 1979, Scand J Stat 6, with the weights of its section 4 (memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding
from keysense.findings.stats import t_ps, t_quantiles
from keysense.practice import Practice, read_practice

__all__ = ["SIGNED", "standing", "weighed"]

Floats = npt.NDArray[np.float64]
# findings of which zero means: neither way
SIGNED = (
    "drift", "drift_section", "rise", "loudness_contrast", "accent", "sigh_loudness", "sigh_release",
    "slur_end", "hands_lag", "melody_lead", "melody_lead_loudness", "voicing", "two_note_touch_gap",
    "two_note_touch_loudness", "two_note_touch_release", "breath_time", "breath_air", "arch_tempo", "arch_loudness",
    "pedal_press", "pedal_release",
)  # fmt: skip
_SIGNED = frozenset(SIGNED)
_ASKED = ("rise", "loudness_contrast")
_WITH_RISE = ("rise_slope", "rise_order")  # say the same once more: they claim a way only where the rise does
_FEWEST_DF = 8


def standing(findings: Sequence[Finding], practice: Practice | None = None) -> tuple[Finding, ...]:
    """The findings whose direction stands with all signed findings of the page counted, in their order."""
    return tuple(findings[k] for k in sorted(_stand(findings, _told(findings), practice or read_practice())))


def weighed(findings: Sequence[Finding], practice: Practice | None = None) -> tuple[Finding, ...]:
    """All findings as they were, and those that lean one way no more than chance will among so many marked so.

    practice: its `false_claims` says how often a whole page may claim something of nothing; else the shipped table.
    """
    told = _told(findings)
    doubtful = set(told) - _stand(findings, told, practice or read_practice())
    rows = [replace(finding, stands=False) if k in doubtful and _leans(finding) else finding
            for k, finding in enumerate(findings)]  # fmt: skip
    surely = {(f.place.mark, f.place.hand) for f in rows if f.name == "rise" and f.stands and _leans(f)}
    return tuple(
        replace(f, stands=False)
        if f.name in _WITH_RISE and (f.place.mark, f.place.hand) not in surely and _leans(f)
        else f
        for f in rows
    )


def _stand(findings: Sequence[Finding], told: Sequence[int], practice: Practice) -> set[int]:
    """The places of those that stand: from the surest on, until the first that its share of the level does not hold."""
    if not told:
        return set()
    asked = np.array([findings[k].name in _ASKED and findings[k].limit is not None for k in told])
    share, given = practice.value("asked_first"), practice.value("false_claims_given")
    of_asked = int(np.count_nonzero(asked))
    weight = np.where(asked, share / max(of_asked, 1), (1 - share) / max(len(told) - of_asked, 1))
    ratio = _chances([findings[k] for k in told]) / weight
    order = np.argsort(ratio, kind="stable")
    left = np.cumsum(weight[order][::-1])[::-1]  # of those that are not yet found to stand
    fails = np.append(ratio[order] > given * practice.value("false_claims") / left, True)
    return {told[k] for k in order[: int(np.argmax(fails))].tolist()}


def _told(findings: Sequence[Finding]) -> list[int]:
    return [k for k, f in enumerate(findings)
            if f.name in _SIGNED and f.value is not None and f.low is not None and f.high is not None]  # fmt: skip


def _leans(finding: Finding) -> bool:
    return (finding.low or 0.0) >= 0 or (finding.high or 0.0) <= 0


def _chances(findings: Sequence[Finding]) -> Floats:
    """How often values this far from zero come from nothing; read from the interval where a finding has it not."""
    value, low, high = (np.array([getattr(f, name) for f in findings], float) for name in ("value", "low", "high"))
    df = np.maximum(_FEWEST_DF, np.array([f.n for f in findings]) - 3.0)
    width = np.where(value > 0, value - low, high - value)
    far = np.abs(value) / np.where(width > 0, width, 1.0)
    chance = np.where(width > 0, t_ps(far * t_quantiles(df), df), np.where(value == 0, 1.0, 0.0))
    return np.array([own if f.chance is None else f.chance for f, own in zip(findings, chance.tolist(), strict=True)])
