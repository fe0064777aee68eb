"""The weeks: one upright spindle a week, even at the top, cut through where the piano changed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from keysense.plots.spindle import spindle
from keysense.plots.svg import circle, named, path, picture, rounded, text

__all__ = ["Week", "weeks_picture"]


_SHORTEST = 13.0  # half a spindle's length in user units: a shorter range would look like a blot


@dataclass(frozen=True)
class Week:
    """One week: its name under the line, its value and likely range (None: no lesson), its meaning in words.

    old_piano draws the dot white; cut_before parts it from the week before: another piano from here on.
    """

    name: str
    value: float | None
    low: float | None
    high: float | None
    title: str
    old_piano: bool = False
    cut_before: bool = False


def weeks_picture(
    weeks: Sequence[Week], ends: tuple[float, float], words: tuple[str, str], title: str, *,
    width: float = 1000.0, height: float = 360.0, left: float = 96.0, size: float = 22.0, every: int = 1,
) -> str:  # fmt: skip
    """All weeks on one scale: ``ends`` are the values at the top and at the foot, ``words`` stand there."""
    top, foot = 24.0, height - 58.0
    step = (width - left - 80) / max(1, len(weeks) - 1)

    def y(value: float) -> float:
        share = (value - ends[0]) / (ends[1] - ends[0])
        return top + (foot - top) * min(1.0, max(0.0, share))

    body = "".join(path("bound", f"M{rounded(left)} {rounded(line)}H{rounded(width)}") for line in (top, foot))
    for i, week in enumerate(weeks):
        x = left + 40 + step * i if len(weeks) > 1 else (left + width) / 2
        if (len(weeks) - 1 - i) % every == 0:
            body += text(x, height - 16, week.name, "q", "middle", font_size=f"{rounded(size)}px")
        if week.cut_before:
            body += _cut(x - step / 2, top, foot)
        body += named(week.title, _week(week, x, y, foot))
    style = f"{rounded(size * 1.1)}px"
    body += text(0, top + size * 0.35, words[0], "s", font_size=style) + text(0, foot, words[1], "s", font_size=style)
    return picture(width, height, body, title)


def _week(week: Week, x: float, y: Callable[[float], float], foot: float) -> str:
    if week.value is None:
        return path("mark quiet", f"M{rounded(x - 9)} {rounded(foot - 8)}h18")
    drawn = ""
    if week.low is not None and week.high is not None:
        upper, lower = sorted((y(week.low), y(week.high)))
        upper, lower = min(upper, y(week.value) - _SHORTEST), max(lower, y(week.value) + _SHORTEST)
        drawn = spindle(upper, y(week.value), lower, x, width=15, upright=True)
    if week.old_piano:
        return drawn + circle("bead open", x, y(week.value), 8)
    return drawn + (circle("bead", x, y(week.value), 8) if week.low is None else "")


def _cut(x: float, top: float, foot: float) -> str:
    left, right, a, b = rounded(x - 7), rounded(x + 7), rounded(top - 8), rounded(foot + 8)
    return path("ground", f"M{left} {a}V{b}H{right}V{a}Z") + path("bound", f"M{left} {a}V{b}M{right} {a}V{b}")
