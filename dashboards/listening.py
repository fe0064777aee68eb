"""What has just been played? The lesson page: nothing to press while playing, takes appear by themselves."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from keysense.dashboards._first import demo_panel, first_minute
from keysense.dashboards._lesson import (
    asked_last,
    cards,
    line_panel,
    still_open,
    taps,
    warmup_line,
    warmup_panel,
    wish_key,
)
from keysense.dashboards._meaning import meaning
from keysense.dashboards._names import NamedTake, name_takes
from keysense.dashboards._share import draw_next
from keysense.dashboards.pianos import link_to

from keysense.page import Later, Page, Panel
from keysense.studio.rows import Context, StoredTake
from keysense.studio.studio import Studio
from keysense.words import counted, translated, word

__all__ = ["QUESTION", "page", "takes", "wish_key"]

QUESTION = "What has just been played?"

_LESSON = timedelta(hours=3)
_MOST = 12
_EARLIER = 5
_SHOWN_BITS = 2  # the newest bits of other playing still ask for a name; the rest fold into one line


def page(studio: Studio) -> Page:
    """The lesson page; a new studio shows the first minute above it, and without pupils nothing but that."""
    guide = None if studio.pupils() else first_minute(studio)
    if guide is not None:
        return _first_minute(studio, guide, takes(studio))
    context = studio.context
    return Page(QUESTION, _title(studio, context), _above(studio, context), Later(lambda: _panels(studio, context)))


def _panels(studio: Studio, context: Context) -> list[Panel]:
    shown, guide = takes(studio), first_minute(studio)
    panels = [] if guide is None else [guide]
    panels += [Panel("now", word("now.name")), line_panel(studio), *asked_last(studio, context.pupil_id)]
    panels += [*still_open(studio, context.pupil_id), *warmup_line(studio)]
    panels += [Panel("ahead", word("ahead.name"), {"said": _ahead(studio, context)})]
    panels += [*draw_next(studio, context), shown, *_other_playing(studio)]
    panels += [*_pairs(shown.content["takes"]), *_papers(shown.content["takes"]), _pupils(studio)]
    if guide is None or "bring" not in guide.content["asks"]:  # else it stands in the guide already
        panels.append(Panel("bring", word("bring.name")))
    panels.append(Panel("newpupil", word("register.name")))
    panels.append(_words(studio, panels))
    panels += [Panel("lineswitch", word("line.name"), for_teacher=True), warmup_panel(studio), link_to(studio)]
    return panels


def _words(studio: Studio, panels: list[Panel]) -> Panel:
    """The words of this page that a newcomer has not met, in other words."""
    names = [panel.name for panel in panels]
    terms = ["take", "character", "two", "shape"]
    terms += ["warmup"] if studio.warmups() else []
    terms += ["note", "slip", "card"] if word("paper.choose") in names else []
    return meaning(*terms, "pieces", "weeks", "pupils", "fold")


def takes(studio: Studio) -> Panel:
    """The takes of this lesson, newest first, or a few earlier ones where nothing has been played yet."""
    since = studio.now() - _LESSON
    bits = _bits(studio)[_SHOWN_BITS:]
    recent = [take for take in studio.takes(since=since) if take not in bits][:_MOST]
    recent += studio.takes(state="dropped", since=since, limit=1)
    recent.sort(key=lambda take: take.started_utc, reverse=True)
    name = word("takes.name")
    if not recent:
        recent = studio.takes(state="kept", limit=_EARLIER)
        name = word("takes.earlier") if recent else name
    rows = cards(studio, recent)
    last_cut = studio.recall("last_cut").get("take", "")
    return Panel("takes", name, {"takes": rows, "taps": taps(studio), "last_cut": last_cut})


def _first_minute(studio: Studio, guide: Panel, shown: Panel) -> Page:
    heard = [shown] if shown.content["takes"] else []
    panels = [guide, *heard, demo_panel(studio), Panel("leaveguide", "")]
    return Page(QUESTION, word("first.title"), word("first.above"), panels)


def _bits(studio: Studio) -> list[StoredTake]:
    """Playing that is nothing we know, newest first."""
    return [take for take in studio.takes(state="waiting") if "other_playing" in take.flags]


def _other_playing(studio: Studio) -> list[Panel]:
    bits = _bits(studio)[_SHOWN_BITS:]
    if not bits:
        return []
    links = [{"href": f"/take/{named.take.id[:12]}", "said": named.when} for named in name_takes(studio, bits[:_MOST])]
    return [Panel("links", word("other.name"), {"said": counted("other.bits", len(bits)), "links": links})]


def _pairs(rows: list[dict[str, Any]]) -> list[Panel]:
    """Takes of one tune in two characters, the latest of each: a press to see them side by side."""
    latest: dict[tuple[str, str], list[NamedTake]] = {}
    for row in rows:
        named = row["named"]
        if named.take.state == "kept" and named.piece and named.take.character:
            kept = latest.setdefault((named.pupil, named.piece), [])
            if named.take.character not in [other.take.character for other in kept]:
                kept.append(named)
    links = [
        {
            "href": f"/beside/{pair[1].take.id[:12]}/{pair[0].take.id[:12]}",
            "said": word("pair.link", piece=piece, first=pair[1].take.character, second=pair[0].take.character),
        }
        for (_, piece), pair in latest.items()
        if len(pair) > 1
    ]
    content = {"said": word("pair.said"), "links": links, "press": True}
    return [Panel("links", word("pair.name"), content)] if links else []


def _papers(rows: list[dict[str, Any]]) -> list[Panel]:
    """What goes home after the lesson, for each pupil of whom something was kept."""
    pupils = {row["named"].take.pupil_id: row["named"].pupil for row in rows if row["named"].take.state == "kept"}
    links = [
        {"href": f"/{kind}/{pupil_id}", "said": word("paper.link", pupil=nickname, paper=word(f"paper.name.{kind}"))}
        for pupil_id, nickname in pupils.items()
        if pupil_id
        for kind in ("note", "slip", "card")
    ]
    said = word("paper.choose.said")
    return [Panel("links", word("paper.choose"), {"said": said, "links": links})] if links else []


def _pupils(studio: Studio) -> Panel:
    links = [{"href": f"/weeks/{pupil.id}", "said": pupil.nickname} for pupil in studio.pupils()]
    return Panel("links", word("weeks.link.name"), {"said": "", "links": links})


def _title(studio: Studio, context: Context) -> str:
    return studio.pupil(context.pupil_id).nickname if context.pupil_id else word("lesson.title")


def _above(studio: Studio, context: Context) -> str:
    return studio.piece(context.piece_id).title if context.piece_id else ""


def _ahead(studio: Studio, context: Context) -> str:
    parts = [
        studio.pupil(context.pupil_id).nickname if context.pupil_id else "",
        studio.piece(context.piece_id).title if context.piece_id else "",
        context.character,
        translated(context.manner),
    ]
    said = ", ".join(part for part in parts if part)
    return word("ahead.said", said=said) if said else ""
