"""Did somebody else play first? Two passes over the same bars in one take, the first one much the steadier.

Conventions
    A teacher may show a phrase before the pupil plays it, and both stand in one take. Nothing is ever decided by this:
    it is a reason to ask. Pupils who go back are often steadier the second time, hardly ever the first.

Findings
    The first press of the second pass, where in the bars both share the spread of ln period is larger in the second
    pass by the factor of the table at least, and such a ratio of variances comes from nothing in at most one of a
    hundred pairs of passes (F, one-sided). None elsewhere.

References
    F ratio of two variances: any textbook (memory). The factor: common practice, no source.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from keysense.findings.heard import Heard
from keysense.following.following import Pass

__all__ = ["shown_first"]

Floats = npt.NDArray[np.float64]
_FEWEST = 6  # steps of the shared bars in each pass


def shown_first(heard: Heard) -> int | None:
    """The row of the take at which the pupil may have begun; None where nothing speaks for two players."""
    passes = heard.following.passes
    if heard.following.lost or len(passes) < 2:
        return None
    first, second = passes[0], passes[1]
    bars = max(first["first_bar"], second["first_bar"]), min(first["last_bar"], second["last_bar"])
    one, other = (_log_periods(heard, each, bars) for each in (first, second))
    if min(len(one), len(other)) < _FEWEST:
        return None
    ratio = float(other.std(ddof=1)) / max(float(one.std(ddof=1)), 1e-6)
    if ratio < heard.practice.value("shown_first") or _beyond(
        ratio, len(other) - 1, len(one) - 1
    ) > heard.practice.value("shown_first_chance"):
        return None
    return int(second["first_played"])


def _log_periods(heard: Heard, one: Pass, bars: tuple[int, int]) -> Floats:
    """ln seconds a quarter of the steps of one pass within these bars, from note to note as written."""
    pairs = heard.following.pairs
    inside = (pairs["played"] >= one["first_played"]) & (pairs["played"] <= one["last_played"]) & (pairs["target"] >= 0)
    pairs = pairs[inside]
    notes = heard.target.notes[pairs["target"]]
    here = (notes["bar"] >= bars[0]) & (notes["bar"] <= bars[1]) & ~notes["is_grace"]
    quarter, at = np.unique(np.round(notes["onset_quarter"][here], 6), return_index=True)
    time_s = heard.take.notes["onset_s"][pairs["played"][here][at]]
    seconds, length = np.diff(time_s), np.diff(quarter)
    kept = (seconds > 0) & (length > 0)
    periods: Floats = np.log(seconds[kept] / length[kept])
    return periods


def _beyond(ratio: float, df_second: int, df_first: int) -> float:
    from scipy.special import fdtrc

    return float(fdtrc(df_second, df_first, ratio**2))
