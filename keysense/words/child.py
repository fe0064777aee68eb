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
    keys = (*_surely(name, finding), f"child.{name}.{way(finding)}", f"child.{name}")
    return word(next((key for key in keys if has_word(key)), "child.other"))


def _surely(name: str, finding: Finding) -> list[str]:
    """Words for what is known though it went no way: none at all, all of it, within the limit, or surely alike."""
    keys = [f"child.none.{name}"] if finding.value == 0 else []
    if name == "notes_as_written" and finding.value == finding.n:
        keys.append(f"child.{name}.all")
    if way(finding) == "same":
        kind = {"within": "within", "beyond": "alike"}.get(finding.verdict or "", "")
        keys += [f"child.{name}.{kind}"] if kind else []
        keys += [f"child.{name}.same.fall"] if finding.limit is not None and finding.limit.side == "max" else []
    return keys


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
