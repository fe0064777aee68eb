"""What the templates of a take are given: pictures and sentences for each of its panels."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from keysense.errors import TargetError
from keysense.finding import Finding
from keysense.findings.reading import Reading
from keysense.plots.drawing import thread_drawing
from keysense.plots.frame import Bounds
from keysense.plots.ranges import likely_range
from keysense.plots.shapes import ALONE, BESIDE, UPRIGHT, UPRIGHT_BESIDE, shape_lines
from keysense.plots.signs import choice, key_sign, outcome_sign, plain_sign
from keysense.plots.tempo import pace_rows
from keysense.plots.told import shape_rows
from keysense.plots.under import Drawn, bar_edges, drawn_from, lane_under, loudness_under, pace_under
from keysense.web.draw_wish import wished_line
from keysense.words import say_for_teacher, title_of, word
from keysense.words.choosing import outcome_of
from keysense.words.figures import figure, place_words

__all__ = ["choices", "drawing", "findings", "music", "shape", "table"]

# class of the style sheet, page width in user units, bars a line, size of what stands under the music
_WIDTHS = (("wide", 1800, 4, 0.95), ("mid", 1440, 4, 0.95), ("tight", 900, 2, 1.25))
_LONG = 24  # bars; beyond it the page carries two engravings instead of three
_KEYS = ("other", "wait", "gap", "extra", "unsure")
_THREADS = ("right", "left", "apart", "asked")
_PLACE_SIGNS = {"waits": "wait", "notes_other_pitch": "other", "notes_left_out": "gap", "notes_extra": "extra"}


def music(content: dict[str, Any], only: str = "") -> dict[str, Any]:
    """The engraved page with what was heard under each line; a thread where there is no page.

    only: the one width to engrave it at; each of them where that is empty.
    """
    reading: Reading = content["reading"]
    drawn = _drawn(content)
    label = word("music.section", title=content["title"])
    try:
        widths = [_engraved(reading, drawn, content, *row) for row in _widths(reading, only)]
    except TargetError:
        return {"label": label, "drawing": drawing({"take": reading.take, "said": label})}
    present = {mark.name for mark in drawn.marks}
    return {
        "drawing": "",
        "label": label,
        "widths": widths,
        "signs": [_key(name) for name in _KEYS if name in present],
        "threads": _threads(reading, drawn),
        "said": word("lane.key.loudness" if drawn.lines else "lane.key"),
        "pace": pace_rows(reading, drawn.pace) if drawn.pace and drawn.pace.usual_s else [],
        "repeats": any("~" in str(note_id) for note_id in reading.target.notes["id"]),
    }


def _widths(reading: Reading, only: str) -> tuple[tuple[str, int, int, float], ...]:
    long = len(reading.target.bars) > _LONG
    rows = (("wide mid", *_WIDTHS[1][1:]), _WIDTHS[2]) if long else _WIDTHS
    return tuple(row for row in rows if not only or only in row[0].split())


def _engraved(
    reading: Reading, drawn: Drawn, content: dict[str, Any], cls: str, width: int, bars: int, scale: float
) -> dict[str, Any]:
    from keysense.engraving import engrave

    title = reading.target.source.title
    engraving = engrave(reading.target, width=width, bars_a_line=bars if len(reading.target.bars) > bars else None)
    asked = _asked_bars(reading, content) if content["guessing"] and len(reading.target.bars) > _LONG else None
    return {
        "cls": cls,
        "systems": [
            {
                "svg": Markup(system.svg),  # noqa: S704 - drawn by our own engraver
                "bars": " ".join(str(bar) for bar in system.bars),
                "edges": bar_edges(system),
                "label": word("music.label", title=title, first=system.first_bar, last=system.last_bar),
                "lane": Markup(lane_under(drawn, system, scale)),  # noqa: S704 - our own drawing, its words escaped
                "loudness": Markup(loudness_under(drawn, system, scale)) if drawn.lines else "",  # noqa: S704
                "pace": Markup(pace_under(drawn, system, scale)),  # noqa: S704
            }
            for system in engraving.systems
            if asked is None or asked & set(system.bars)
        ],
    }


def _asked_bars(reading: Reading, content: dict[str, Any]) -> set[int]:
    """The bars that the question is about: of a long piece only their lines are shown before it is answered."""
    bars = reading.target.bars
    ends = bars["start_quarter"] + bars["length_quarter"]
    rows = [
        bars["number"][(bars["start_quarter"] < mark.end_quarter) & (ends > mark.start_quarter)]
        for mark in content["marks"]
        if mark.kind == "crescendo"
    ]
    return {int(number) for numbers in rows for number in numbers}


def _threads(reading: Reading, drawn: Drawn) -> list[dict[str, Any]]:
    """The key of the loudness line: only what is on this page."""
    if not drawn.lines:
        return []
    there = {
        "right": True,
        "left": "L" in reading.target.hands,
        "apart": any(piece.apart for line in drawn.lines for piece in line.pieces),
        "asked": bool(drawn.wedges),
    }
    return [_key(name) for name in _THREADS if there[name]]


def _key(name: str) -> dict[str, Any]:
    return {"sign": Markup(key_sign(name)), "said": word(f"key.{name}")}  # noqa: S704


def shape(content: dict[str, Any], page: str = "shape") -> dict[str, Any]:
    """The shape, large: across the page, and upright for a phone. page: what it stands on, alone or among others."""
    drawn, (across, upright) = _drawn(content), (ALONE, UPRIGHT) if page == "shape" else (BESIDE, UPRIGHT_BESIDE)
    title = word("shape.title", title=content["character"] or content["title"])
    return {
        "asked": bool(drawn.wedges),
        "before": bool(drawn.before),
        "wished": drawn.wished is not None,
        "table": _in_words(drawn),
        "landscape": [Markup(svg) for svg in shape_lines(drawn, title, across)],  # noqa: S704
        "portrait": [Markup(svg) for svg in shape_lines(drawn, title, upright)],  # noqa: S704
    }


def _drawn(content: dict[str, Any]) -> Drawn:
    """One reading, with what was played before it and its piano's own softest and loudest where those are known."""
    bounds, wished = Bounds(*content.get("bounds", ())), wished_line(content.get("wished"))
    before = content.get("before")
    return drawn_from(content["reading"], content["marks"], before=before, bounds=bounds, wished=wished)


def _in_words(drawn: Drawn) -> dict[str, Any]:
    """The shape as a table of words, a row a bar."""
    columns = ("bar", "now", "before") if drawn.before else ("bar", "now")
    heads = [{"said": word(f"shape.words.{name}"), "figure": False} for name in columns]
    return {"caption": word("shape.words.caption"), "heads": heads, "rows": shape_rows(drawn)}


def drawing(content: dict[str, Any]) -> Markup:
    """A take without a score, as a thread."""
    return Markup(thread_drawing(content["take"], content["said"], width=900, places=True))  # noqa: S704


def choices(name: str) -> Markup:
    """The picture on a slip."""
    return Markup(choice(name))  # noqa: S704


def findings(content: dict[str, Any]) -> list[dict[str, Any]]:
    """Each finding with its sign, its outcome words, its sentence and its drawn range."""
    return [_finding(finding) for finding in content["findings"]]


def _finding(finding: Finding) -> dict[str, Any]:
    outcome, said = outcome_of(finding), say_for_teacher(finding)
    title = word("found.range", title=title_of(finding.name), said=said)
    drawn = likely_range(finding, title, asked=outcome is not None)
    return {
        "sign": Markup(_sign(finding, outcome)),  # noqa: S704
        "outcome": word(f"outcome.{outcome}") if outcome else "",
        "said": said,
        "bars": finding.place.bars,
        "place": place_words(finding.place),
        "range": Markup(drawn) if drawn else "",  # noqa: S704
    }


def _sign(finding: Finding, outcome: str | None) -> str:
    if outcome:
        return outcome_sign(outcome)
    if finding.name in _PLACE_SIGNS:
        return key_sign(_PLACE_SIGNS[finding.name])
    return plain_sign(finding.value is not None)


def table(rows: tuple[Finding, ...]) -> dict[str, Any]:
    """Every finding as a table: what, where, value, likely between, in which unit, from how much."""
    heads = (("what", 0), ("where", 0), ("value", 1), ("likely", 1), ("unit", 0), ("from", 1))
    return {
        "caption": word("table.heard"),
        "heads": [{"said": word(f"table.{name}"), "figure": is_figure} for name, is_figure in heads],
        "rows": [_row(finding) for finding in rows],
    }


def _row(finding: Finding) -> tuple[str, ...]:
    none = word("table.none")
    value = none if finding.value is None else figure(finding.value, finding.unit)
    likely = none
    if finding.low is not None and finding.high is not None:
        ends = {"low": figure(finding.low, finding.unit), "high": figure(finding.high, finding.unit)}
        likely = word("table.between", **ends)
    unit = word(f"unit.{finding.unit}")
    return title_of(finding.name), place_words(finding.place) or none, value, likely, unit, str(finding.n)
