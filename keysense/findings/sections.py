"""Getting faster or slower, section by section.

Conventions
    A section is a stretch of one written tempo or, where the page writes one tempo only, eight bars. Only where there
    are two sections or more.

Findings
    drift_section (%): the change of tempo over the steady steps of one section, a straight line through ln period,
        both hands together, Student's interval; one row a section; missing below eight steps and where freedom of time
        was asked.

References
    See `keysense.findings.tempo`.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Events, Heard
from keysense.findings.stats import Estimate, slopes_of
from keysense.findings.steps import steps_of
from keysense.findings.tempo import FREE

__all__ = ["drift_by_section"]

Ints = npt.NDArray[np.int64]
_FEWEST = 8


def drift_by_section(heard: Heard) -> list[Finding]:
    """One row a section that was heard; nothing where the music has but one."""
    events = heard.all_events
    steps = steps_of(heard, events)
    section = _sections(heard, events)[steps.first]
    first = np.flatnonzero(np.diff(section, prepend=-1))
    if len(first) < 2:
        return []
    bars = zip(
        *(over.reduceat(events.bar[steps.first], first).tolist() for over in (np.minimum, np.maximum)), strict=True
    )
    number = np.repeat(np.arange(len(first)), np.diff(first, append=len(section)))
    lines = slopes_of(steps.start[steps.steady], steps.y[steps.steady], number[steps.steady], len(first))
    return [_drift(heard, Place(of), e, span) for of, (e, span) in zip(bars, lines, strict=True)]


def _sections(heard: Heard, events: Events) -> Ints:
    written = heard.section_of(events.quarter)
    if np.any(np.diff(heard.section_of(heard.target.notes["onset_quarter"])) > 0):
        return written
    starts = heard.target.bars["start_quarter"]
    bars = int(heard.practice.value("section_bars"))
    whole = max(1, round(len(starts) / bars))
    bar = np.searchsorted(starts, events.quarter + 1e-6, side="right") - 1
    return np.asarray(np.minimum(bar // bars, whole - 1), np.int64)


def _drift(heard: Heard, place: Place, e: Estimate, span: float) -> Finding:
    if heard.free or e.n < _FEWEST:
        why = FREE if heard.free else f"it takes {_FEWEST} steady steps, and {e.n} came"
        return Finding.missing("drift_section", "%", why, n=e.n, place=place)
    value, high, low = (100 * math.expm1(-slope * span) for slope in e.whole())
    return Finding("drift_section", value, "%", e.n, low, high, heard.practice.limit("drift"), place)
