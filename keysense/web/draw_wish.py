"""What the templates of the child's share are given: the field to draw in, the guess, the drawn line in words."""

from __future__ import annotations

from typing import Any

import numpy as np
from markupsafe import Markup

from keysense.comparing.wishes import drawn_in_bars, went_your_way
from keysense.errors import TargetError
from keysense.findings.reading import Reading
from keysense.plots.frame import Bounds
from keysense.plots.loudness import leading
from keysense.plots.placing import hand_lines, played_in_bars
from keysense.plots.wished import NARROW, WIDE, WishedLine, bar_places, drawing_field
from keysense.studio.share import DrawnWish
from keysense.targets.target import Target
from keysense.words import word
from keysense.words.wishing import drawn_word, say_agreement

__all__ = ["STEPS", "bars_of_part", "field", "pace_table", "wished", "wished_line"]

BARS = 8  # as many as a finger draws in one go
STEPS = 24  # how finely a height is kept
_LEVEL = 0.4  # where a slider stands before anything is drawn
_WIDTHS = (("wide", 1800, 4), ("mid", 1440, 4), ("tight", 900, 2))


def bars_of_part(target: Target, part: int) -> slice:
    """The rows of the bars of one part: eight, or fewer at the end; a part that is not there is the last one."""
    last = max(0, (len(target.bars) - 1) // BARS)
    first = BARS * min(max(part, 0), last)
    return slice(first, first + BARS)


def field(content: dict[str, Any], only: str = "") -> dict[str, Any]:
    """The picture to draw in, the music under it, and a slider a place; each half bar is one place.

    only: the one width to engrave the music at; each of them where that is empty.
    """
    target: Target = content["target"]
    rows = bars_of_part(target, content["part"])
    bars, places = target.bars[rows], bar_places(target, rows)
    heights = _heights(content["waiting"], float(bars["start_quarter"][0]), len(places))
    pictures = (drawing_field(target, rows, heights, word("draw.field"), field) for field in (WIDE, NARROW))
    return {
        "pictures": [Markup(picture) for picture in pictures],  # noqa: S704 - our own drawings
        "music": _music(target, {int(number) for number in bars["number"]}, content["title"], only),
        "places": [
            {"label": word(f"draw.place.{half}", bar=number), "value": round(STEPS * height)}
            for (number, half), height in zip(places, heights or [_LEVEL] * len(places), strict=True)
        ],
        "steps": STEPS,
        "words": [drawn_word(step / STEPS) for step in range(STEPS + 1)],
        "parts": [_part(target, first, here=first == rows.start) for first in range(0, len(target.bars), BARS)],
        "part": rows.start // BARS,
    }


def _heights(waiting: DrawnWish | None, first_quarter: float, n: int) -> list[float]:
    """The line that waits to be played, where it stands on these bars."""
    if waiting is None or len(waiting.heights) != n or abs(waiting.first_quarter - first_quarter) > 1e-6:
        return []
    return [float(height) for height in waiting.heights]


def _part(target: Target, first: int, *, here: bool) -> dict[str, Any]:
    numbers = target.bars["number"][first : first + BARS]
    said = word("draw.bars", first=int(numbers.min()), last=int(numbers.max()))
    return {"number": first // BARS, "said": said, "here": here}


def _music(target: Target, numbers: set[int], title: str, only: str) -> list[dict[str, Any]]:
    """The engraved lines on which these bars stand, at each width; nothing where the piece has no page."""
    from keysense.engraving import engrave

    widths = []
    for cls, width, bars in (row for row in _WIDTHS if only in ("", row[0])):
        try:
            engraving = engrave(target, width=width, bars_a_line=bars if len(target.bars) > bars else None)
        except TargetError:
            return []
        systems = [
            {"svg": Markup(one.svg), "label": word("music.label", title=title, first=one.first_bar, last=one.last_bar)}  # noqa: S704
            for one in engraving.systems
            if numbers & set(one.bars)
        ]
        widths.append({"cls": cls, "systems": systems})
    return widths


def wished_line(wished: DrawnWish | None) -> WishedLine | None:
    """A kept line as it is drawn."""
    return None if wished is None else WishedLine(wished.heights, (wished.first_quarter, wished.last_quarter))


def wished(content: dict[str, Any]) -> dict[str, Any]:
    """The drawn line and what was played, bar by bar: where they went one way in words, and both as a table."""
    reading: Reading = content["reading"]
    line: DrawnWish = content["wished"]
    bounds = Bounds(*content["bounds"])
    lines = leading(hand_lines(reading.contours, reading.take, reading.target, reading.following))
    bars = _once(reading.target.bars)
    drawn = drawn_in_bars(np.array(line.heights), (line.first_quarter, line.last_quarter), bars)
    played = played_in_bars(lines, bars)
    steps = {"step_velocity": content["loudness_step"], "drawn_step": content["drawn_step"]}
    runs = went_your_way(drawn, played, bars["number"], **steps) if lines else []
    said = [say_agreement(run) for run in runs[:2]] or [word("draw.way.none" if lines else "draw.unheard")]
    share = (played - bounds.soft) / (bounds.loud - bounds.soft)
    rows = [
        (str(int(bar["number"])), drawn_word(height), drawn_word(loud))
        for bar, height, loud in zip(bars, drawn.tolist(), share.tolist(), strict=True)
        if np.isfinite(height)
    ]
    heads = [{"said": word(f"draw.table.{name}"), "figure": False} for name in ("bar", "drawn", "played")]
    table = {"caption": word("draw.table"), "heads": heads, "rows": rows}
    return {"said": said, "id": line.id, "back": content["back"], "table": table}


def _once(bars: Any) -> Any:
    """Each written bar the first time it is played."""
    return bars[np.sort(np.unique(bars["number"], return_index=True)[1])]


def pace_table(rows: list[tuple[str, str, str]]) -> dict[str, Any]:
    """The tempo line as a table: a row a bar."""
    heads = (("bar", False), ("qpm", True), ("beside", False))
    return {
        "caption": word("pace.caption"),
        "heads": [{"said": word(f"pace.{name}"), "figure": figure} for name, figure in heads],
        "rows": rows,
    }
