"""How freely does the pulse go, and does the end slow down?

Conventions
    Both hands together; a period is seconds a quarter, from every step between neighbouring written onsets, phrase
    ends, waits and swing too: a median takes no harm from them.

Findings
    period_spread (%): 1.4826 * median |period - median| / median; chi-square interval at the efficiency of that
        median. A breathing phrase spreads it, so it is no unevenness and has no limit. Missing below eight steps.
    final_slowing (1): the period of the step to the last written onset over the median period of the others of the
        same playing and, where a new pace began well before, of that pace; interval from the scatter of ln period of
        the steady steps. 1 is no slowing. Missing below six other steps and where the last two onsets were not both
        heard.

References
    One held note makes a coefficient of variation 68 % where this reads 15 % (computed). The shape of a longer close:
    `keysense.findings.closing`.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from keysense.finding import Finding, Place
from keysense.findings.heard import Heard
from keysense.findings.stats import MAD_TO_SD, robust_interval, t_quantile
from keysense.findings.steps import Steps, steps_of

__all__ = ["final_slowing", "period_spread"]

_FEWEST = 8
_FEWEST_OTHERS = 6
_FEWEST_SINCE = 12  # steps: a slowing close itself is no new pace
_MEDIAN_SE = math.sqrt(math.pi / 2)  # of a median, to that of a mean


def period_spread(heard: Heard) -> list[Finding]:
    """Robust spread of the quarter period, in percent of its median."""
    steps = steps_of(heard, heard.all_events)
    period = np.exp(steps.y + steps.swing)
    n = len(period)
    if n < _FEWEST:
        return [Finding.missing("period_spread", "%", f"it takes {_FEWEST} steps, and {n} came", n=n)]
    middle = float(np.median(period))
    spread = 100 * MAD_TO_SD * float(np.median(np.abs(period - middle))) / middle
    return [Finding("period_spread", spread, "%", n, *robust_interval(spread, n, 1))]


def final_slowing(heard: Heard) -> list[Finding]:
    """The last step over the others."""
    events = heard.all_events
    steps = steps_of(heard, events)
    asked = heard.asked()
    end = float(heard.target.notes["onset_quarter"][asked].max()) if len(asked) else 0.0
    last = np.flatnonzero(np.abs(events.quarter[steps.second] - end) < 1e-6)
    if not len(last):
        return [Finding.missing("final_slowing", "1", "the last two notes were not both heard")]
    others = _others(steps, events.passing[steps.first], int(last[0]))
    n, bar = len(others), int(events.bar[steps.second[last[0]]])
    place = Place((bar, bar))
    if n < _FEWEST_OTHERS:
        why = f"it takes {_FEWEST_OTHERS} steady steps before the last, and {n} came"
        return [Finding.missing("final_slowing", "1", why, n=n, place=place)]
    slowed = float(steps.y[last[0]] - np.median(others))
    half = t_quantile(n - 1) * float(others.std(ddof=1)) * math.sqrt(1 + _MEDIAN_SE**2 / n)
    value, low, high = (math.exp(v) for v in (slowed, slowed - half, slowed + half))
    return [Finding("final_slowing", value, "1", n, low, high, None, place)]


def _others(steps: Steps, passing: npt.NDArray[np.int64], last: int) -> npt.NDArray[np.float64]:
    """ln period of the steady steps of the same playing, of all but waits where there are few of them; never the last.

    Where a new pace began well before the close, only those from there on.
    """
    use = steps.steady.copy()
    if np.count_nonzero(use) < _FEWEST_OTHERS:
        use = ~(steps.long | steps.short)
    use &= passing == passing[last]
    use[last] = False
    since = use & (steps.stretch == steps.stretch[last])
    if np.count_nonzero(since) >= _FEWEST_SINCE:
        use = since
    return np.asarray(steps.y[use])
