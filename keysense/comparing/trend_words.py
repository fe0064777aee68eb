"""Which word do the weeks of one finding allow?

Conventions
    The word goes by the wish, never by the sign of the figure.

Findings
    "nearer the wish" ("more even" where evenness was wished), "further from the wish": the rank trend is no chance.
    "now here, now there": it may be chance, and the weeks differ by more than their own intervals allow; homogeneity by
    chi-square, by F where the error of a take is itself known from few takes. Else "about as before".

References
    Homogeneity of estimates weighed by their own errors: Cochran 1954 (memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np

from keysense.comparing.error import TakeError
from keysense.findings.stats import t_quantile

__all__ = ["DIRECTION", "TrendWord", "trend_word"]

TrendWord = Literal[
    "more even", "nearer the wish", "further from the wish", "about as before", "now here, now there", "can't tell yet"
]

DIRECTION = {
    "lower": -1, "even": -1, "slower": -1, "softer": -1, "less": -1, "apart": -1, "none": -1,
    "higher": 1, "free": 1, "quicker": 1, "louder": 1, "more": 1, "joined": 1, "breath": 1,
}  # fmt: skip
"""By wish: +1 where a larger figure is wished for, -1 where a smaller one is."""
_FEWEST = 3


def trend_word(
    s: int, p: float, wish: str, spans: Sequence[tuple[float, float, float]], error: TakeError, chance: float
) -> TrendWord:
    """The word for a rank trend s of chance p.

    spans: value, low and high of each week that has an interval. chance: how often a trend may be told of nothing.
    """
    if p <= chance:
        if s * DIRECTION[wish] < 0:
            return "further from the wish"
        return "more even" if wish == "even" else "nearer the wish"
    return "now here, now there" if _scattered(spans, error, chance) else "about as before"


def _scattered(spans: Sequence[tuple[float, float, float]], error: TakeError, chance: float) -> bool:
    """Whether the weeks differ by more than their own intervals allow."""
    from scipy.special import chdtrc, fdtrc

    if len(spans) < _FEWEST:
        return False
    value, low, high = np.array(spans).T
    se = (high - low) / (2 * (1.96 if error.sem is None else t_quantile(error.df)))
    weight = 1 / se**2
    middle = float((weight * value).sum() / weight.sum())
    df, squares = len(spans) - 1, float((weight * (value - middle) ** 2).sum())
    return bool((chdtrc(df, squares) if error.sem is None else fdtrc(df, error.df, squares / df)) < chance)
