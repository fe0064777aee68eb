"""Which directions stand when a whole page of findings is looked at at once?

Conventions
    Every interval is one of 95 %, so of twenty findings of pure noise about one leaves out zero. A page that claims a
    direction for each of those would be wrong on two pages of five. Holm's step-down procedure keeps the chance that
    any direction on the page is claimed of nothing below 5 % (it is given 4.1), whatever hangs together. What the music
    asks for (its hairpins and its dynamics) shares seven tenths of that chance, everything else the rest: a question
    that was put beforehand may be answered sooner than one that nobody put. The chance of one finding is its own
    (`Finding.chance`), of a rise as it leans; where a finding has none, it is read from the interval: the part of it
    between the value and zero, as if it were Student's with three degrees of freedom fewer than notes (eight at least;
    far tails are heavy).

Findings
    Each finding's ``stands``: False where zero lies not inside its interval, and it does not stand beside the others.

References
    Holm 1979, Scand J Stat 6, with the weights of its section 4 (memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from keysense.finding import Finding
from keysense.findings.stats import t_quantile, t_two_sided_p

__all__ = ["SIGNED", "standing", "weighed"]

# findings of which zero means: neither way
SIGNED = (
    "drift", "drift_section", "rise", "loudness_contrast", "accent", "sigh_loudness", "sigh_release",
    "slur_end", "hands_lag", "melody_lead", "melody_lead_loudness", "voicing", "two_note_touch_gap",
    "two_note_touch_loudness", "two_note_touch_release", "breath_time", "breath_air", "arch_tempo", "arch_loudness",
    "pedal_press", "pedal_release",
)  # fmt: skip
_ASKED = ("rise", "loudness_contrast")
_ASKED_SHARE = 0.7  # of the level
_FEWEST_DF = 8
_LEVEL = 0.05
_GIVEN = 0.82  # so much of the level is given away; the rest is for what is only nearly normal and independent


def standing(findings: Sequence[Finding], level: float = _LEVEL) -> tuple[Finding, ...]:
    """The findings whose direction stands with all signed findings of the page counted, in their order."""
    told = [k for k, finding in enumerate(findings) if _told(finding)]
    return tuple(findings[k] for k in sorted(_stand(findings, told, level)))


def weighed(findings: Sequence[Finding], level: float = _LEVEL) -> tuple[Finding, ...]:
    """All findings as they were, and those that lean one way no more than chance will among so many marked so.

    level: how often a whole page may claim something of nothing (`false_claims` of the table).
    """
    told = [k for k, finding in enumerate(findings) if _told(finding)]
    doubtful = set(told) - _stand(findings, told, level)
    return tuple(
        replace(finding, stands=False) if k in doubtful and _leans(finding) else finding
        for k, finding in enumerate(findings)
    )


def _stand(findings: Sequence[Finding], told: Sequence[int], level: float = _LEVEL) -> set[int]:
    """The places of those that stand: from the surest on, until the first that its share of the level does not hold."""
    asked = sum(_asked(findings[k]) for k in told)
    share = {True: _ASKED_SHARE / max(asked, 1), False: (1 - _ASKED_SHARE) / max(len(told) - asked, 1)}
    weights = {k: share[_asked(findings[k])] for k in told}
    left, stand = sum(weights.values()), set()
    for ratio, k in sorted((_chance(findings[k]) / weights[k], k) for k in told):
        if ratio > _GIVEN * level / left:
            break
        stand.add(k)
        left -= weights[k]
    return stand


def _asked(finding: Finding) -> bool:
    return finding.name in _ASKED and finding.limit is not None


def _leans(finding: Finding) -> bool:
    return (finding.low or 0.0) >= 0 or (finding.high or 0.0) <= 0


def _told(finding: Finding) -> bool:
    return finding.name in SIGNED and finding.value is not None and finding.low is not None and finding.high is not None


def _chance(finding: Finding) -> float:
    """How often a value this far from zero comes from nothing; read from the interval where the finding has it not."""
    if finding.chance is not None:
        return finding.chance
    value, low, high = finding.value or 0.0, finding.low or 0.0, finding.high or 0.0
    width = value - low if value > 0 else high - value
    if width <= 0:
        return 1.0 if value == 0 else 0.0
    df = max(_FEWEST_DF, finding.n - 3)
    return t_two_sided_p(abs(value) / width * t_quantile(df), 1.0, df)
