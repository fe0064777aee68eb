"""What the templates of the weeks are given."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from markupsafe import Markup

from keysense.comparing import WeekLine
from keysense.comparing.weeks import Week as HeardWeek
from keysense.plots.explore import Dot, weeks_figure
from keysense.plots.ranges import SCALES
from keysense.plots.weeks import Week, weeks_picture
from keysense.words import counted, translated, word
from keysense.words.figures import WEEKS, figure, figures, listed, size, start_large
from keysense.words.many import say_week_error

__all__ = ["closer", "week_table", "weeks"]

_FEW = 5  # weeks up to which the picture stays small
_MANY_GAPS = 3  # weeks without a playing, up to which each is named
# class of the style sheet, width and height in user units, room for the words at the left, size of the type
_SIZES = (("wide", 1000.0, 340.0, 100.0, 22.0), ("mid", 760.0, 320.0, 104.0, 23.0), ("tight", 390.0, 300.0, 78.0, 19.5))
_CHANCE = 0.05  # the level of the trend words
_NO_WORD = "can't tell yet"


def weeks(content: dict[str, Any]) -> dict[str, Any]:
    """The sentence over the weeks, and the picture at each width."""
    line: WeekLine = content["line"]
    drawn = _weeks(line)
    scale = SCALES[content["finding"]]
    head = _head(line)
    first, last = (_day(_monday(week)) for week in (line.weeks[0], line.weeks[-1]))
    title = word("weeks.picture", name=content["name"], first=first, last=last, said=head)
    words = (word("end.even"), word("end.less_even"))
    few = len(drawn) <= _FEW
    pictures = [
        {
            "cls": "" if few else cls,
            "svg": Markup(  # noqa: S704 - our own drawing, its words escaped
                weeks_picture(
                    drawn, (scale.first, scale.last), words, title, width=width, height=height, left=left, size=size,
                )
            ),
        }
        for cls, width, height, left, size in (_SIZES[-1:] if few else _SIZES)
    ]  # fmt: skip
    too_few = line.word == "can't tell yet"
    key = [word("weeks.key")] if content["first"] else []
    key += [word("weeks.key.piano")] if any(week.cut_before for week in drawn) else []
    gaps = [monday for monday, week in _named(line) if week is None]
    key += [_gaps(gaps)] if gaps else []
    return {
        "head": head,
        "key": " ".join(key),
        "under": counted("weeks.so_far", len(line.weeks)) if too_few and len(line.weeks) < _FEW else "",
        "few": few,
        "pictures": pictures,
    }


def _gaps(mondays: list[date]) -> str:
    """The weeks in which it was not played, said: a dash alone is easily overlooked."""
    if len(mondays) > _MANY_GAPS:
        return word("weeks.key.none.many", n=len(mondays))
    return counted("weeks.key.none", len(mondays), when=listed([_day(monday) for monday in mondays]))


def closer(content: dict[str, Any]) -> str:
    """The figure to look closer into, as JSON."""
    line: WeekLine = content["line"]
    scale = SCALES[content["finding"]]
    dots = [
        Dot(
            _monday(week), week.value, week.low, week.high, week.instrument,
            _said(_day(_monday(week)), week),
        )
        for week in line.weeks
    ]  # fmt: skip
    return weeks_figure(dots, content["name"], (scale.first, scale.last), (word("end.even"), word("end.less_even")))


def week_table(content: dict[str, Any]) -> dict[str, Any]:
    """Every week in figures, and the weeks without a lesson."""
    heads = (("weeks.table.week", 0), ("weeks.table.value", 1), ("table.likely", 1), ("weeks.table.takes", 1))
    return {
        "caption": word("weeks.table"),
        "heads": [{"said": word(key), "figure": is_figure} for key, is_figure in heads],
        "rows": _rows(content["line"]),
        "said": _said_of(content["line"]),
        "other_piano": not all(week.judged for week in content["line"].weeks),
    }


def _said_of(line: WeekLine) -> list[str]:
    """What the teacher is told: how the weeks moved, and how easily chance would draw such a line."""
    if line.p is None or line.slope is None:
        why = [start_large(translated(line.why).rstrip(".")) + "."] if line.why else []
        return [*why, *say_week_error(line, "%")]
    on_this = sum(week.instrument == line.weeks[-1].instrument for week in line.weeks)
    key = "weeks.chance" if line.p <= _CHANCE else "weeks.no_move"
    said = [word(key, weeks=on_this, once=max(1, round(1 / max(line.p, 1e-6))))]
    if line.low is not None and line.high is not None:
        fell = line.slope < 0
        ends = (line.high, line.low) if fell else (line.low, line.high)
        way = word("weeks.slope.down" if fell else "weeks.slope.up")
        low, high = figures([-end if fell else end for end in ends], "%")
        said.append(word("weeks.slope", size=size(line.slope, "%"), way=way, low=low, high=high))
    return [*said, *say_week_error(line, "%"), word("weeks.caution")]


def _head(line: WeekLine) -> str:
    first = line.weeks[0]
    month = date.fromisocalendar(first.year, first.week, 4).month
    return word(f"weeks.head.{line.word or _NO_WORD}", month=word(f"month.{month}"))


def _monday(week: HeardWeek) -> date:
    return date.fromisocalendar(week.year, week.week, 1)


def _day(day: date) -> str:
    return word("when.day", day=day.day, month=word(f"month.{day.month}"))


def _named(line: WeekLine) -> list[tuple[date, HeardWeek | None]]:
    """Every week from the first to the last by its Monday, those in which it was not played too."""
    heard: dict[date, list[HeardWeek]] = {}
    for week in line.weeks:
        heard.setdefault(_monday(week), []).append(week)
    monday = min(heard)
    named: list[tuple[date, HeardWeek | None]] = []
    while monday <= max(heard):
        named += [(monday, week) for week in heard.get(monday, ())] or [(monday, None)]
        monday += timedelta(weeks=1)
    return named


def _weeks(line: WeekLine) -> list[Week]:
    piano, before = line.weeks[-1].instrument, line.weeks[0].instrument
    drawn: list[Week] = []
    month = 0
    for monday, week in _named(line):
        of_week = (monday + timedelta(days=3)).month  # most of its days
        name, month = ("" if of_week == month else word(f"month.{of_week}")), of_week
        if week is None:
            drawn.append(Week(name, None, None, None, word("weeks.week.none", week=_day(monday))))
            continue
        drawn.append(
            Week(
                name, week.value, week.low, week.high, word("weeks.week.name", week=_day(monday)),
                old_piano=week.instrument != piano, cut_before=week.instrument != before,
            )
        )  # fmt: skip
        before = week.instrument
    return drawn


def _said(name: str, week: HeardWeek) -> str:
    if week.low is None or week.high is None:
        return word("weeks.week.point", week=name, value=figure(week.value, "%"))
    low, high = figures((week.low, week.high), "%")
    return word("weeks.week", week=name, low=low, high=high)


def _rows(line: WeekLine) -> list[tuple[str, ...]]:
    none, named = word("table.none"), _named(line)
    known = [end for week in line.weeks for end in (week.value, week.low, week.high) if end is not None]
    said = dict(zip(known, figures(known, "%", WEEKS), strict=True))
    rows: list[tuple[str, ...]] = []
    for monday, week in named:
        name = word("weeks.table.name", day=_day(monday), week=monday.isocalendar().week)
        if week is None:
            rows.append((name, none, word("weeks.no_lesson"), none))
            continue
        likely = none
        if week.low is not None and week.high is not None:
            likely = word("table.between", low=said[week.low], high=said[week.high])
        rows.append((name, said[week.value], likely, str(week.n)))
    return rows
