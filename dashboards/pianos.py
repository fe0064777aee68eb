"""How does this piano answer? Two minutes by the script, and what is known of each piano."""

from __future__ import annotations

from keysense.capture.state import ListeningState
from keysense.page import Page, Panel
from keysense.studio.pianos import StoredSurvey
from keysense.studio.studio import Studio
from keysense.studio.surveying import UnderWay, under_way
from keysense.words import counted, word
from keysense.words.many import say_moved, say_survey

__all__ = ["QUESTION", "link_to", "page"]

QUESTION = "How does this piano answer?"

_STEPS = (
    ("low", "strokes"), ("centre", "strokes"), ("high", "strokes"), ("pairs", "pairs.how"), ("pedal", "pedal.how"),
    ("silence", "silence.how"),
)  # fmt: skip


def page(studio: Studio) -> Page:
    """The script where a survey is under way, else the press that begins one; below it every piano that is known."""
    now = under_way(studio)
    first = [_steps(now)] if now else [_begin(studio)]
    return Page(QUESTION, word("pianos.title"), word("pianos.above"), [*first, *_known(studio)])


def link_to(studio: Studio) -> Panel:
    """From other pages: is the piano that is heard known?"""
    piano = ListeningState(studio.folder.journal).now().piano or _last_heard(studio)
    is_known = bool(piano) and studio.survey_of(piano) is not None
    said = word("pianos.known" if is_known else "pianos.unknown", piano=piano or word("state.piano"))
    links = [{"href": "/pianos", "said": word("pianos.link")}]
    return Panel("links", word("pianos.name"), {"said": said, "links": links}, for_teacher=True)


def _last_heard(studio: Studio) -> str:
    return next((take.instrument for take in studio.takes(limit=5) if take.instrument), "")


def _begin(studio: Studio) -> Panel:
    known = studio.surveys()
    setting = known[0].touch_setting if known else ""
    return Panel("pianobegin", word("pianos.begin.name"), {"said": [word("pianos.why")], "setting": setting})


def _steps(now: UnderWay) -> Panel:
    steps = [(word(f"pianos.{head}"), word(f"pianos.{how}")) for head, how in _STEPS]
    heard = counted("pianos.heard", now.n) if now.n else word("pianos.heard.none")
    return Panel("pianosteps", word("pianos.now.name"), {"steps": steps, "heard": heard})


def _known(studio: Studio) -> list[Panel]:
    """Each piano by its newest survey, in the order of their names."""
    by_piano: dict[str, list[StoredSurvey]] = {}
    for stored in studio.surveys():
        by_piano.setdefault(stored.instrument, []).append(stored)
    if not by_piano:
        return [Panel("text", word("pianos.name"), {"said": [word("pianos.none")]})]
    return [
        Panel("text", name or word("survey.this"), {"said": _said(studio, surveys)})
        for name, surveys in sorted(by_piano.items())
    ]


def _said(studio: Studio, surveys: list[StoredSurvey]) -> list[str]:
    newest, *older = surveys
    key = "pianos.when.setting" if newest.touch_setting else "pianos.when"
    said = [word(key, **_day(studio, newest), setting=newest.touch_setting), *say_survey(newest.survey)]
    if older:
        said += say_moved(studio.survey_moved(newest, older[0]))
        said.append(word("pianos.older", days=", ".join(word("pianos.day", **_day(studio, one)) for one in older)))
    return said


def _day(studio: Studio, stored: StoredSurvey) -> dict[str, object]:
    day = stored.done_utc.astimezone(studio.settings.zone).date()
    return {"day": day.day, "month": word(f"month.{day.month}")}
