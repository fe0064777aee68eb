"""Who is coming, and what is open? Every pupil by nickname, those with an open question first; never by ability."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from keysense.dashboards._first import demo_panel
from keysense.dashboards._lesson import asked_last, open_questions
from keysense.dashboards.pianos import link_to

from keysense.page import Page, Panel
from keysense.papers import called_of
from keysense.papers.plain import day_words
from keysense.studio.between import BY_EAR, FROM_PAGE
from keysense.studio.matching import best_matches, words_of
from keysense.studio.register import TEACH
from keysense.studio.rows import Pupil
from keysense.studio.studio import Studio
from keysense.words import counted, word

__all__ = ["QUESTION", "page"]

QUESTION = "Who is coming, and what is open?"
_SOON = timedelta(days=30)  # time to ask the family again
_FEW = 12  # so many names are found at a look


def page(studio: Studio, *, whose: str = "") -> Page:
    """The pupils in the order of the register: what is open for each, and where each one's pages are.

    whose: a name as typed, short or misspelt; then those alone who may be meant.
    """
    everybody = studio.pupils()
    found = _meant(everybody, whose)
    rows = [_row(studio, pupil) for pupil in found or everybody]
    asking = [row for row in rows if row["said"]]
    quiet = [row for row in rows if not row["said"]]
    panels = []
    if whose.strip() or len(everybody) > _FEW:
        panels.append(Panel("whose", word("whose.name"), {"typed": whose, "found": bool(found)}))
    if found:
        panels.append(Panel("roster", word("whose.found"), {"rows": rows}))
    else:
        panels += [Panel("roster", word("roster.open"), {"rows": asking})] if asking else []
        panels += [Panel("roster", word("roster.quiet"), {"rows": quiet, "in_one_row": True})] if quiet else []
    panels += _to_see_to(studio)
    panels.append(Panel("newpupil", word("register.name")))
    panels.append(Panel("text", "", {"said": [word("roster.order" if rows else "roster.none")]}))
    panels.append(replace(link_to(studio), for_teacher=False))
    elsewhere = [{"href": "/elsewhere", "said": word("gather.link")}]
    panels.append(Panel("links", word("gather.link.name"), {"said": "", "links": elsewhere}))
    panels.append(Panel("called", word("called.name"), {"said": called_of(studio)}))
    panels.append(demo_panel(studio))
    return Page(QUESTION, word("roster.title"), "", panels)


def _meant(pupils: list[Pupil], typed: str) -> list[Pupil]:
    """Those whom a name may mean, in the order of the register; who is called exactly so is meant alone."""
    matches = best_matches(typed, {pupil.id: pupil.nickname for pupil in pupils})
    exact = [match for match in matches if words_of(match.name) == words_of(typed)]
    meant = {match.id for match in exact or matches}
    return [pupil for pupil in pupils if pupil.id in meant]


def _row(studio: Studio, pupil: Pupil) -> dict[str, object]:
    asked = [("", str(panel.content["said"])) for panel in asked_last(studio, pupil.id)]
    said = asked or open_questions(studio, pupil.id)
    waiting = studio.takes(pupil=pupil.id, state="waiting")
    if waiting:
        said.append(("", counted("roster.waiting", len(waiting))))
    said += [
        ("", word("roster.unsigned", paper=word(f"paper.name.{paper.kind}")))
        for paper in studio.papers(pupil.id)
        if not paper.signed_by
    ]
    return {"nickname": pupil.nickname, "said": said, "links": _links(studio, pupil)}


def _links(studio: Studio, pupil: Pupil) -> list[dict[str, str]]:
    """The weeks; what takes can be set beside each other; the spots of every piece of which a take is kept, in the
    order of the shelf."""
    takes = [take for take in studio.takes(pupil=pupil.id, state="kept") if not take.is_model]
    played, manners = {take.piece_id for take in takes}, {take.manner for take in takes}
    pages = [("weeks", "nav.weeks"), *([("overnight", "overnight.link")] if played else [])]
    pages += [("sight", "sight.link")] if "first sight" in manners else []
    pages += [("manners", "manners.link")] if {BY_EAR, FROM_PAGE} <= manners else []
    spots = [
        {"href": f"/spots/{pupil.id}/{piece.id}", "said": word("roster.spots", piece=piece.title)}
        for piece in studio.pieces()
        if piece.id in played
    ]
    pages.append(("kept", "kept.link"))
    return [{"href": f"/{page}/{pupil.id}", "said": word(key)} for page, key in pages] + spots


def _to_see_to(studio: Studio) -> list[Panel]:
    """Pupils of whom nothing may be kept, or before long, with the way to where an agreement is renewed."""
    rows = [(pupil, _of_agreement(pupil, studio.today())) for pupil in studio.pupils()]
    seen = [
        {"said": said, "href": f"/kept/{pupil.id}?open=1#agreed", "link": word("roster.renew")}
        for pupil, said in rows
        if said
    ]
    return [Panel("seeto", word("roster.see"), {"rows": seen})] if seen else []


def _of_agreement(pupil: Pupil, today: date) -> str:
    """That no agreement stands, or that the one that stands ends before long; else nothing."""
    if not pupil.may_keep:
        return word("roster.agreement", pupil=pupil.nickname)
    standing = [one.until for one in pupil.agreements if one.purpose == TEACH and one.stands(today)]
    last = max((until for until in standing if until is not None), default=None)
    if None in standing or last is None or last > today + _SOON:
        return ""
    return word("roster.ends", pupil=pupil.nickname, day=day_words(last))
