"""What a survey changes in the findings of a take: the piano's own share is taken out, and what it cannot tell is not
told.

Conventions
    Of two keys struck together the piano's own gap and difference of loudness are taken off two-note touches where the
    survey is sure that there are any; the interval grows by that of the survey. Gaps of onsets smaller than the step of
    the piano's clock are not judged. Shape, pulse and touch stay as they are. A pedal that sends down for up is turned
    round; on a piano that sends one loudness no take's loudness is judged, however few its notes.

Findings
    touch_level (1): median touch of the key presses on this piano's own scale, where its soft is .2, its middle .5 and
    its loud .8, with the median's interval. The velocities themselves stay as they were sent.

References
    Interval of a difference from separate intervals: Donner & Zou 2012 (memory). The rest common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

from keysense.finding import Finding
from keysense.findings.ranks import median_of
from keysense.notes import Take
from keysense.survey.hearing import Survey

__all__ = ["as_known", "by_survey", "touch_level"]

_OF_PAIRS = {"two_note_touch_gap": "pair_gap", "two_note_touch_loudness": "pair_loudness"}
_SUSTAIN = 64
_GAPS = ("hands_lag", "melody_lead", "chord_spread", "two_note_touch_gap")


def as_known(take: Take, survey: Survey) -> Take:
    """The take as its piano is known to mean it; the given one stays as it is."""
    if survey.pedal == "inverted":
        pedals = take.pedals.copy()
        sustain = pedals["controller"] == _SUSTAIN
        pedals["value"][sustain] = 127 - pedals["value"][sustain]
        take = replace(take, pedals=pedals)
    if survey.fixed and "one_velocity" not in take.meta.flags:
        take = replace(take, meta=replace(take.meta, flags=(*take.meta.flags, "one_velocity")))
    return take


def touch_level(take: Take, survey: Survey) -> tuple[Finding, ...]:
    """How firmly it was played on this piano's own scale; nothing where the piano sends one loudness."""
    if survey.curve is None or not len(take.notes):
        return ()
    e = median_of(survey.curve.touch(take.notes["velocity"]))
    return () if e.value is None else (Finding("touch_level", e.value, "1", e.n, e.low, e.high),)


def by_survey(findings: Iterable[Finding], survey: Survey) -> tuple[Finding, ...]:
    """The findings of a take as they stand on a piano that is known."""
    return tuple(_judged(_own_share_off(finding, survey), survey.clock_step_ms) for finding in findings)


def _own_share_off(finding: Finding, survey: Survey) -> Finding:
    if finding.value is None or finding.name not in _OF_PAIRS:
        return finding
    own = survey.one(_OF_PAIRS[finding.name])
    if own.value is None or own.low is None or own.high is None or own.low <= 0 <= own.high:
        return finding
    # the survey counts towards the higher key, the finding towards the little finger's: the lower one on the left
    share, below, above = own.value, own.value - own.low, own.high - own.value
    if finding.place.hand == "L":
        share, below, above = -share, above, below
    value = finding.value - share
    low = None if finding.low is None else value - math.hypot(finding.value - finding.low, above)
    high = None if finding.high is None else value + math.hypot(finding.high - finding.value, below)
    return replace(finding, value=value, low=low, high=high)


def _judged(finding: Finding, step_ms: float) -> Finding:
    if finding.name not in _GAPS or finding.value is None or abs(finding.value) >= step_ms:
        return finding
    why = f"this piano's clock ticks in steps of {step_ms:g} ms, and this is finer"
    return Finding.missing(finding.name, finding.unit, why, n=finding.n, place=finding.place)
