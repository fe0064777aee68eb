"""A finding is a figure with its doubt, or a reason; never a silent zero."""

from __future__ import annotations

import json

import pytest

from keysense.finding import Finding, Limit, Place


def figure(value: float, low: float, high: float, side: str, bound: float = 10.0) -> Finding:
    return Finding("drift", value, "%", 20, low, high, Limit(bound, side))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("finding", "verdict"),
    [
        (figure(5, 3, 7, "max"), "within"),
        (figure(15, 12, 18, "max"), "beyond"),
        (figure(9, 7, 11, "max"), "unsure"),
        (figure(15, 12, 18, "min"), "within"),
        (figure(5, 3, 7, "min"), "beyond"),
        (figure(-15, -18, -12, "both"), "beyond"),
        (figure(-5, -8, -2, "both"), "within"),
        (figure(0, -20, 20, "both"), "unsure"),
    ],
)
def test_the_verdict_follows_from_interval_and_limit(finding: Finding, verdict: str) -> None:
    assert finding.verdict == verdict


def test_without_a_limit_there_is_no_verdict() -> None:
    assert Finding("tempo", 90, "quarters/min", 12, 88, 92).verdict is None


def test_a_missing_value_must_say_why() -> None:
    with pytest.raises(ValueError, match="must say why"):
        Finding("tempo", None, "quarters/min", 0)


def test_not_a_number_counts_as_missing_and_needs_a_reason() -> None:
    with pytest.raises(ValueError, match="must say why"):
        Finding("tempo", float("nan"), "quarters/min", 3)
    assert Finding("tempo", 90, "quarters/min", 3, float("nan"), float("inf")).low is None


def test_an_unknown_unit_is_refused() -> None:
    with pytest.raises(ValueError, match="unit 'bpm'"):
        Finding("tempo", 90, "bpm", 3)  # type: ignore[arg-type]


def test_json_holds_plain_types_and_counts_their_places() -> None:
    waits = Finding("waits", 1, "count", 26, places=(Place((4, 4), "R"),))
    row = json.loads(json.dumps(waits.to_json(), allow_nan=False))
    assert row["places"] == [{"bars": [4, 4], "hand": "R", "mark": None}]
    assert "places" not in Finding("tempo", 90, "quarters/min", 3).to_json()
