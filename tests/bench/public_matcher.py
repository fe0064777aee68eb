"""The public matcher of parangonar (dual time warping) behind one call, for comparison in the bench only.

Source: parangonar 3.4.0 from the package registry. It pairs each written note at most once and knows no restarts.
"""

from __future__ import annotations

import contextlib
import io
import warnings
from collections.abc import Callable

import numpy as np

from keysense.following.following import EXTRA, MATCH, PAIR, Following
from keysense.notes import Take
from keysense.targets.target import Target

_DIVISIONS = 480
_SCORE = [
    ("onset_beat", "f8"), ("duration_beat", "f8"), ("onset_quarter", "f8"), ("duration_quarter", "f8"),
    ("onset_div", "i4"), ("duration_div", "i4"), ("pitch", "i4"), ("voice", "i4"), ("staff", "i4"), ("is_grace", "?"),
    ("id", "U16"),
]  # fmt: skip
_PLAYED = [
    ("onset_sec", "f8"), ("duration_sec", "f8"), ("onset_tick", "i4"), ("duration_tick", "i4"),
    ("pitch", "i4"), ("velocity", "i4"), ("track", "i4"), ("channel", "i4"), ("id", "U16"),
]  # fmt: skip


def public_matcher() -> Callable[[Target, Take], Following] | None:
    """Follow with the public matcher; None where the package is not installed."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            import parangonar
    except ImportError:
        return None
    matcher = parangonar.DualDTWNoteMatcher()

    def follow(target: Target, take: Take) -> Following:
        pairs = np.zeros(len(take.notes), PAIR)
        pairs["played"], pairs["target"], pairs["kind"] = np.arange(len(take.notes)), -1, EXTRA
        # it fails on some short takes: those count as nothing paired
        with contextlib.suppress(Exception), contextlib.redirect_stdout(io.StringIO()), warnings.catch_warnings():
            warnings.simplefilter("ignore")
            for row in matcher(_score(target), _played(take)):
                if row["label"] == "match":
                    at = int(row["performance_id"][1:])
                    pairs["target"][at], pairs["kind"][at] = int(row["score_id"][1:]), MATCH
        return Following(pairs, np.zeros(0, np.int32), [], {}, None, 1.0, False)

    return follow


def _score(target: Target) -> np.ndarray:
    rows = np.zeros(len(target.notes), _SCORE)
    onset = target.notes["onset_quarter"] - target.notes["onset_quarter"].min()
    for unit, size in (("beat", 1.0), ("quarter", 1.0), ("div", float(_DIVISIONS))):
        rows[f"onset_{unit}"] = np.round(onset * size, 6)
        rows[f"duration_{unit}"] = np.round(target.notes["duration_quarter"] * size, 6)
    rows["pitch"], rows["voice"], rows["is_grace"] = target.notes["pitch"], 1, target.notes["is_grace"]
    rows["staff"] = np.where(target.notes["hand"] == "L", 2, 1)
    rows["id"] = [f"s{i}" for i in range(len(rows))]
    return rows[np.lexsort((rows["duration_div"], rows["pitch"], rows["onset_div"]))]


def _played(take: Take) -> np.ndarray:
    rows = np.zeros(len(take.notes), _PLAYED)
    rows["onset_sec"] = take.notes["onset_s"]
    rows["duration_sec"] = np.maximum(take.notes["release_s"] - take.notes["onset_s"], 0.01)
    rows["onset_tick"], rows["duration_tick"] = rows["onset_sec"] * 960, rows["duration_sec"] * 960
    rows["pitch"], rows["velocity"] = take.notes["pitch"], take.notes["velocity"]
    rows["id"] = [f"p{i}" for i in range(len(rows))]
    return rows
