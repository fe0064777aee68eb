"""One finding, or one outcome, as one sentence for a child: no figure, no praise, no blame."""

from __future__ import annotations

from keysense.finding import Finding
from keysense.words.catalogue import has_word, word
from keysense.words.choosing import outcome_of
from keysense.words.heard import held_over, way

__all__ = ["say_asked_to_child", "say_for_child", "say_outcome_to_child"]

_SPEAKS_LIKE = {
    "evenness_timing_robust": "evenness_timing",
    "sd_ioi": "evenness_timing",
    "cv_ioi": "evenness_timing",
    "overlap_ratio": "overlap",
}
_APART = 0.75  # keys held for less than three quarters of a note sound apart: common practice, no source


def say_for_child(finding: Finding) -> str:
    """What was heard, told to a child; a figure that is missing becomes an invitation to play it again."""
    if finding.value is None:
        return word("child.missing")
    name = _SPEAKS_LIKE.get(finding.name, finding.name)
    if name == "hold_ratio":
        return word(f"child.hold_ratio.{_hold(finding, finding.value)}")
    none = (f"child.none.{name}",) if finding.value == 0 else ()
    went = way(finding)
    sure = (f"child.{name}.within",) if went == "same" and finding.verdict == "within" else ()
    for key in (*none, *sure, f"child.{name}.{went}", f"child.{name}"):
        if has_word(key):
            return word(key)
    return word("child.other")


def say_asked_to_child(finding: Finding) -> str:
    """What was asked on the page, and whether it was heard; what came the other way is told as not yet heard."""
    outcome = outcome_of(finding)
    if outcome is None or outcome == "can't tell yet":
        return say_for_child(finding)
    falls = finding.limit is not None and finding.limit.side == "max"
    which = {
        "rise": "fall" if falls else "rise",
        "hold_ratio": "apart" if falls else "long",
        "overlap_ratio": "over" if held_over(finding) else "overlap",
        "loudness_contrast": "contrast",
    }[finding.name]
    return word(f"child.{'asked' if outcome == 'asked and heard' else 'not'}.{which}")


def say_outcome_to_child(outcome: str) -> str:
    """One of the outcome words, told to a child."""
    return word(f"child.outcome.{outcome}")


def _hold(finding: Finding, value: float) -> str:
    low = value if finding.low is None else finding.low
    high = value if finding.high is None else finding.high
    return "apart" if high < _APART else "joined" if low > _APART else "same"
