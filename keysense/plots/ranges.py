"""Where a value likely lies, drawn: spindles on one line, and what was asked as paper on the same line."""

from __future__ import annotations

from dataclasses import dataclass

from keysense.finding import Finding
from keysense.plots.spindle import spindle
from keysense.plots.svg import path, picture, rounded, text
from keysense.words import word

__all__ = ["SCALES", "Scale", "likely_range", "two_ranges"]


_SMALLEST = 7.0  # half a spindle's length, in units of the line: a narrower range is drawn as a bead that can be seen


@dataclass(frozen=True)
class Scale:
    """The ends of a line: two values in the finding's unit, and the keys of the two words that stand there."""

    first: float
    last: float
    words: tuple[str, str]

    def x(self, value: float) -> float:
        """Where a value lies on a line of 300 units; what lies outside stays at the end."""
        share = (value - self.first) / (self.last - self.first)
        return 8 + 284 * min(1.0, max(0.0, share))


SCALES: dict[str, Scale] = {
    "tempo": Scale(30, 180, ("end.slow", "end.quick")),
    "drift": Scale(-25, 25, ("end.slower", "end.faster")),
    "evenness_timing": Scale(0, 25, ("end.even", "end.less_even")),
    "evenness_timing_robust": Scale(0, 25, ("end.even", "end.less_even")),
    "sd_ioi": Scale(0, 100, ("end.even", "end.less_even")),
    "cv_ioi": Scale(0, 25, ("end.even", "end.less_even")),
    "evenness_loudness": Scale(0, 25, ("end.even", "end.less_even")),
    "rise": Scale(-80, 80, ("end.faded", "end.grew")),
    "loudness": Scale(1, 127, ("end.soft", "end.loud")),
    "loudness_contrast": Scale(-40, 40, ("end.soft_louder", "end.loud_louder")),
    "contrast": Scale(0, 60, ("end.alike", "end.far_apart")),
    "overlap": Scale(-300, 200, ("end.let_go", "end.joined")),
    "overlap_ratio": Scale(-0.6, 0.8, ("end.let_go", "end.joined")),
    "hold_ratio": Scale(0.2, 1.2, ("end.short", "end.joined")),
    "touch": Scale(0.2, 1.2, ("end.short", "end.joined")),
    "evenness": Scale(0, 25, ("end.even", "end.less_even")),
    "breath": Scale(0, 1.5, ("end.none", "end.long")),
    "breath_time": Scale(-20, 80, ("end.none", "end.long")),
    "breath_air": Scale(-0.2, 0.8, ("end.none", "end.long")),
    "hands_lag": Scale(-100, 100, ("end.right_later", "end.left_later")),
}


def likely_range(finding: Finding, title: str, *, asked: bool, cls: str = "") -> str:
    """One finding on its line; empty where it has no figure, no likely range or no line.

    asked: its limit was asked for on the page, and is paper; else it is of common practice, and two short strokes.
    """
    scale = SCALES.get(finding.name)
    if scale is None or finding.value is None or finding.low is None or finding.high is None:
        return ""
    body = path("bound", "M8 22H292") + _limit(finding, scale, asked=asked)
    body += spindle(*_three(finding, scale), 22, cls=f"thread {cls}".strip())
    return picture(300, 62, body + _ends(scale, 56), title)


def two_ranges(name: str, a: Finding, b: Finding, title: str) -> str:
    """Two takes on one line: the first above it, the second below and snipped."""
    scale = SCALES.get(name)
    if scale is None or (a.value is None and b.value is None):
        return ""
    body = path("bound", "M8 34H292")
    if a.value is not None:
        body += spindle(*_three(a, scale), 20, width=15)
    if b.value is not None:
        x = scale.x(b.value)
        body += spindle(*_three(b, scale), 48, width=15, cls="thread b")
        body += path("snip", f"M{rounded(x)} 38L{rounded(x + 2.5)} 58h-2.5L{rounded(x - 2.5)} 38z")
    return picture(300, 82, body + _ends(scale, 76), title)


def _three(finding: Finding, scale: Scale) -> tuple[float, float, float]:
    value = finding.value or 0.0
    low = value if finding.low is None else finding.low
    high = value if finding.high is None else finding.high
    x = min(max(scale.x(value), 8 + _SMALLEST), 292 - _SMALLEST)
    return min(scale.x(low), x - _SMALLEST), x, max(scale.x(high), x + _SMALLEST)


def _limit(finding: Finding, scale: Scale, *, asked: bool) -> str:
    if finding.limit is None:
        return ""
    bound = finding.limit.value
    first, last = {"max": (scale.first, bound), "min": (bound, scale.last), "both": (-bound, bound)}[finding.limit.side]
    left, right = rounded(scale.x(first)), rounded(scale.x(last))
    if asked:
        return path("paper", f"M{left} 10H{right}V34H{left}Z")
    return path("bound", f"M{left} 14V30M{right} 14V30")


def _ends(scale: Scale, y: float) -> str:
    first, last = (word(key) for key in scale.words)
    return text(8, y, first, "q end") + text(292, y, last, "q end", anchor="end")
