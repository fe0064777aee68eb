"""Where does the page itself let the time go?

Conventions
    Quarters. A rest is a gap between the written end of all that sounds and the next onset; of a target that was played
    in, whose durations are heard ones, only a long gap is one. Limits are rows of ``practice.toml``.

Findings
    None of its own: steps there tell nothing of evenness, drift and waits.

References
    None: common practice, no source.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from keysense.findings.heard import Events, Heard

__all__ = ["written_free"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

_NEAR = 1e-6
_NEAR_ORNAMENT = 0.05  # quarters


def written_free(heard: Heard, events: Events, first: Ints, second: Ints, until: Floats | None = None) -> Bools:
    """Steps across a rest, a fermata or a grace note, in the last bar, in a written ritardando.

    until: where the last note before each second event ends, in quarters, if that is not the first event.
    """
    start, end = events.quarter[first], events.quarter[second]
    gap = end - (events.end_quarter[first] if until is None else until)
    if heard.target.source.kind in ("midi", "model"):  # its durations were played, so only a long gap is a rest
        share, least = heard.practice.value("rest_played_share"), heard.practice.value("rest_played_quarters")
        free = (gap > share * (end - start)) & (gap >= least)
    else:
        share, least = heard.practice.value("rest_share"), heard.practice.value("rest_quarters")
        free = (gap > share * (end - start)) & (gap > least)
    free |= events.grace[first] | events.grace[second]
    free |= start > heard.last_bar_quarter - _NEAR
    for low, high in _spans(heard):
        free |= (end > low + _NEAR) & (start < high - _NEAR)
    return free


def _spans(heard: Heard) -> list[tuple[float, float]]:
    """Spans in quarters where the page itself lets the time go: ritardando, accelerando, fermata, about an ornament."""
    at = [mark.start_quarter for mark in heard.marks_of("ornament")]  # it may begin before or after its note
    spans = [(quarter - _NEAR_ORNAMENT, quarter + _NEAR_ORNAMENT) for quarter in at]
    for mark in heard.marks_of("ritardando", "accelerando", "fermata"):
        if mark.kind != "fermata":
            open_ended = mark.end_quarter <= mark.start_quarter
            spans.append((mark.start_quarter, np.inf if open_ended else mark.end_quarter))
        else:
            spans.append((mark.start_quarter, max(mark.end_quarter, mark.start_quarter + 0.25)))
    return spans
