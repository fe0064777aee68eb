"""The weeks: one upright spindle a week, even at the top, cut through where the piano changed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from keysense.plots.spindle import spindle
from keysense.plots.svg import circle, named, path, picture, rounded, text

__all__ = ["Week", "weeks_picture"]


_A_LETTER = 0.56  # its width as a share of the type's size
_SHORTEST = 13.0  # half a spindle's length in user units: a shorter range would look like a blot


@dataclass(frozen=True)
class Week:
    """One week: what stands under it, its value and likely range (None: not played), its meaning in words.

    name: the month, under its first week; else nothing. old_piano draws the dot white; cut_before parts it from the
    week before: another piano from here on.
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
    width: float = 1000.0, height: float = 360.0, left: float = 96.0, size: float = 22.0,
) -> str:  # fmt: skip
    """All weeks on one scale: ``ends`` are the values at the top and at the foot, ``words`` stand there.

    height: without the names of the months, which take one row below, or two where they would meet.
    """
    top, foot = 24.0, height - 30.0
    step = (width - left - 80) / max(1, len(weeks) - 1)
    at = [left + 40 + step * i if len(weeks) > 1 else (left + width) / 2 for i in range(len(weeks))]

    def y(value: float) -> float:
        share = (value - ends[0]) / (ends[1] - ends[0])
        return top + (foot - top) * min(1.0, max(0.0, share))

    body = "".join(path("bound", f"M{rounded(left)} {rounded(line)}H{rounded(width)}") for line in (top, foot))
    for x, week in zip(at, weeks, strict=True):
        body += path("bound", f"M{rounded(x)} {rounded(foot)}v{13 if week.name else 6}")
        if week.cut_before:
            body += _cut(x - step / 2, top, foot)
        body += named(week.title, _week(week, x, y, (foot, step)))
    style = f"{rounded(size * 1.1)}px"
    body += text(0, top + size * 0.35, words[0], "s", font_size=style) + text(0, foot, words[1], "s", font_size=style)
    rows, months = _months(zip(at, weeks, strict=True), (width, foot + 18 + size), size)
    return picture(width, foot + 24 + 1.2 * size * rows, body + months, title)


def _months(placed: Iterable[tuple[float, Week]], edge: tuple[float, float], size: float) -> tuple[int, str]:
    """How many rows the names take, and the names: one that would meet the name before it stands a row below."""
    ends, drawn = [0.0, 0.0], ""
    for x, week in placed:
        half = _A_LETTER * size * len(week.name) / 2
        middle = min(x, edge[0] - half)
        row = next((row for row, end in enumerate(ends) if middle - half >= end), None)
        if week.name and row is not None:
            ends[row] = middle + half + size / 2
            y = edge[1] + 1.2 * size * row
            drawn += text(middle, y, week.name, "q", "middle", font_size=f"{rounded(size)}px")
    return (2 if ends[1] else 1), drawn


def _week(week: Week, x: float, y: Callable[[float], float], room: tuple[float, float]) -> str:
    foot, step = room
    if week.value is None:
        half = min(9.0, step * 0.3)
        return path("mark quiet", f"M{rounded(x - half)} {rounded(foot - 10)}h{rounded(2 * half)}")
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
