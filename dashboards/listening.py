"""What has just been played? The lesson page: nothing to press while playing, takes appear by themselves."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from keysense.dashboards._first import demo_panel, first_minute
from keysense.dashboards._lesson import (
    asked_last,
    cards,
    line_panel,
    still_open,
    taps,
    warmup_line,
    warmup_panel,
)
from keysense.dashboards._meaning import meaning
from keysense.dashboards._names import NamedTake, name_takes
from keysense.dashboards._share import draw_next
from keysense.dashboards.pianos import link_to

from keysense.page import Later, Page, Panel
from keysense.studio.rows import Context, StoredTake
from keysense.studio.studio import Studio
from keysense.words import counted, translated, word

__all__ = ["QUESTION", "page", "takes"]

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
    """A child sees its own lesson; what is for the teacher, and what is other children's, lies behind the fold."""
    shown, guide = takes(studio), first_minute(studio)
    panels = [] if guide is None else [guide]
    asked = asked_last(studio, context.pupil_id) or still_open(studio, context.pupil_id)
    panels += [Panel("now", word("now.name")), line_panel(studio), *asked, *warmup_line(studio)]
    ahead = {"said": _ahead(studio, context), "draw": next((one.content for one in draw_next(studio, context)), None)}
    panels += [Panel("ahead", word("ahead.name"), ahead), shown, *_other_playing(studio)]
    mine, others = [row["named"] for row in shown.content["takes"]], _others(studio, context)
    panels += _pairs(mine)
    folded = [*_papers(mine, others), *_others_panel(others), *_pairs(others), _pupils(studio)]
    if guide is None or "bring" not in guide.content["asks"]:  # else it stands in the guide already
        folded.append(Panel("bring", word("bring.name")))
    folded.append(Panel("newpupil", word("register.name")))
    panels.append(_words(studio, [*panels, *folded]))
    folded = [replace(panel, for_teacher=True) for panel in folded]
    return [
        *panels,
        *folded,
        Panel("lineswitch", word("line.name"), for_teacher=True),
        warmup_panel(studio),
        link_to(studio),
    ]


def _words(studio: Studio, panels: list[Panel]) -> Panel:
    """The words of this page that a newcomer has not met, in other words."""
    names = [panel.name for panel in panels]
    terms = ["take", "character", "two", "shape"]
    terms += ["warmup"] if studio.warmups() else []
    terms += ["note", "slip", "card"] if word("paper.choose") in names else []
    return meaning(*terms, "pieces", "weeks", "pupils", "fold")


def takes(studio: Studio) -> Panel:
    """The takes of this lesson, newest first, or a few earlier ones where nothing has been played yet."""
    since, whose = studio.now() - _LESSON, studio.context.pupil_id
    bits = _bits(studio)[_SHOWN_BITS:]
    recent = [take for take in studio.takes(since=since) if take not in bits and _is_of(take, whose)][:_MOST]
    recent += [take for take in studio.takes(state="dropped", since=since, limit=1) if _is_of(take, whose)]
    recent.sort(key=lambda take: take.started_utc, reverse=True)
    name = word("takes.name")
    if not recent:
        recent = studio.takes(state="kept", limit=_EARLIER, pupil=whose)
        name = word("takes.earlier") if recent else name
    rows = cards(studio, recent)
    last_cut = studio.recall("last_cut").get("take", "")
    return Panel("takes", name, {"takes": rows, "taps": taps(studio), "last_cut": last_cut})


def _is_of(take: StoredTake, whose: str | None) -> bool:
    """A take of the child at the piano, or of nobody yet; of anyone while nobody is said to be there."""
    return whose is None or take.pupil_id is None or take.pupil_id == whose


def _others(studio: Studio, context: Context) -> list[NamedTake]:
    """What other children played in these hours: it stands on no child's page, and here for the teacher alone."""
    if context.pupil_id is None:
        return []
    takes = [take for take in studio.takes(since=studio.now() - _LESSON) if not _is_of(take, context.pupil_id)]
    return name_takes(studio, takes[:_MOST])


def _others_panel(others: list[NamedTake]) -> list[Panel]:
    links = [
        {
            "href": f"/take/{one.take.id[:12]}",
            "said": ", ".join(part for part in (one.who, one.piece, one.take.character) if part),
        }
        for one in others
    ]
    return [Panel("links", word("takes.others.name"), {"said": "", "links": links})] if links else []


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


def _pairs(takes: list[NamedTake]) -> list[Panel]:
    """Takes of one tune in two characters, the latest of each: a press to see them side by side."""
    latest: dict[tuple[str, str], list[NamedTake]] = {}
    for named in takes:
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


def _papers(takes: list[NamedTake], others: list[NamedTake]) -> list[Panel]:
    """What goes home after the lesson, for whoever something was kept of; of other children the note alone."""
    mine, theirs = _kept_of(takes), _kept_of(others)
    links = [_paper(kind, *pupil) for pupil in mine.items() for kind in ("note", "slip", "card")]
    links += [_paper("note", *pupil) for pupil in theirs.items()]
    said = word("paper.choose.said")
    return [Panel("links", word("paper.choose"), {"said": said, "links": links})] if links else []


def _kept_of(takes: list[NamedTake]) -> dict[str, str]:
    return {named.take.pupil_id: named.pupil for named in takes if named.take.state == "kept" and named.take.pupil_id}


def _paper(kind: str, pupil_id: str, nickname: str) -> dict[str, str]:
    return {"href": f"/{kind}/{pupil_id}", "said": word("paper.link", pupil=nickname, paper=word(f"paper.name.{kind}"))}


def _pupils(studio: Studio) -> Panel:
    links = [{"href": f"/weeks/{pupil.id}", "said": pupil.nickname} for pupil in studio.pupils()]
    return Panel("links", word("weeks.link.name"), {"said": "", "links": links, "names": True})


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
