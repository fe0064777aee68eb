"""Reading: every page of the studio, and the parts that an open page asks for again."""

from __future__ import annotations

from dataclasses import replace

from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from keysense.dashboards import listening, shape, spots, take, two_characters, weeks
from keysense.dashboards import studio as studio_list
from keysense.errors import KeysenseError, UnknownName
from keysense.page import Page, Panel
from keysense.studio.studio import Studio
from keysense.web import draw_weeks
from keysense.web.render import Shell, render, render_part
from keysense.web.shell import shell_for
from keysense.words import has_word, word

__all__ = [
    "beside_page",
    "latest_pair",
    "lesson_page",
    "notice_of",
    "own_studio",
    "problem",
    "shape_page",
    "show",
    "spots_page",
    "state_part",
    "studio_of",
    "studio_page",
    "take_page",
    "takes_part",
    "weeks_closer",
    "weeks_list",
    "weeks_page",
]


def studio_of(request: Request) -> Studio:
    """The studio these pages show: the teacher's own, or for as long as she looks at it the demo studio."""
    studio: Studio = request.app.state.demo.studio
    return studio


def own_studio(request: Request) -> Studio:
    """The teacher's own studio, in which the piano is listened to whichever one is shown."""
    own: Studio = request.app.state.demo.own
    return own


def show(request: Request, name: str, page: Page, **more: object) -> Response:
    """A page inside its shell."""
    return HTMLResponse(render(page, _shell(request, name, **more)))


def _shell(request: Request, name: str, **more: object) -> Shell:
    path = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    state = request.app.state
    more = {
        "faulty": getattr(request.state, "faulty", None),
        "line": state.line.is_on,
        **more,
    }
    ended = state.lesson is not None and not state.running.alive
    return shell_for(
        studio_of(request), name, path, has_lesson=state.lesson is not None, trouble=state.hub.trouble, ended=ended,
        heard_in=own_studio(request), told=request.state.told, **more,
    )  # fmt: skip


def lesson_page(request: Request) -> Response:
    """What has just been played?"""
    studio = studio_of(request)
    return show(request, "listening", listening.page(studio), notice=notice_of(request))


def take_page(request: Request) -> Response:
    """How did this take go?"""
    studio, ref = studio_of(request), request.path_params["ref"]
    stored = studio.take(ref)
    if stored.state == "replaced":
        return show(request, "take", take.replaced(studio, stored))
    page = take.page(studio, ref, guess=request.query_params.get("guess", ""))
    is_open = "open" in request.query_params
    return show(request, "take", page, emphasis=(stored.character,), notice=notice_of(request), open=is_open)


def shape_page(request: Request) -> Response:
    """What shape did it have? Nothing else on the page."""
    studio, ref = studio_of(request), request.path_params["ref"]
    return show(request, "shape", shape.page(studio, ref), emphasis=(studio.take(ref).character,))


def beside_page(request: Request) -> Response:
    """Do the two differ?"""
    studio = studio_of(request)
    first, second = request.path_params["first"], request.path_params["second"]
    words = (studio.take(first).character, studio.take(second).character)
    page = two_characters.page(studio, first, second, guess=request.query_params.get("guess", ""))
    return show(request, "beside", page, emphasis=words, notice=notice_of(request), open="open" in request.query_params)


def latest_pair(request: Request) -> Response:
    """The latest two takes of one tune in two characters; where there are none, how to come by them."""
    pair = two_characters.latest(studio_of(request))
    if pair is not None:
        return RedirectResponse(f"/beside/{pair[0][:12]}/{pair[1][:12]}", 303)
    panels = [Panel("text", word("pair.name"), {"said": [word("beside.choose")]})]
    return show(request, "beside", Page(two_characters.QUESTION, word("nav.beside"), "", panels))


def weeks_list(request: Request) -> Response:
    """Whose weeks?"""
    return show(request, "weeks", weeks.choose(studio_of(request)))


def weeks_page(request: Request) -> Response:
    """What has changed?"""
    page = weeks.page(studio_of(request), request.path_params["pupil"])
    return show(request, "weeks", page, open="open" in request.query_params)


def studio_page(request: Request) -> Response:
    """Who is coming, and what is open?"""
    return show(request, "studio", studio_list.page(studio_of(request)))


def spots_page(request: Request) -> Response:
    """Where is the tune caught again and again?"""
    page = spots.page(studio_of(request), request.path_params["pupil"], request.path_params["piece"])
    return show(request, "spots", page, open="open" in request.query_params)


def weeks_closer(request: Request) -> Response:
    """One panel of a pupil's weeks as a figure to look closer into."""
    page = weeks.page(studio_of(request), request.path_params["pupil"])
    number = request.path_params["number"]
    if number >= len(page.panels) or page.panels[number].kind != "weektable":
        raise UnknownName(word("notfound.said"))
    return Response(draw_weeks.closer(page.panels[number].content), media_type="application/json")


def takes_part(request: Request) -> Response:
    """The takes of the lesson alone, for a lesson page that is open."""
    shell = replace(_shell(request, "listening"), path="/")  # its presses lead back to the lesson, not to a part of it
    return HTMLResponse(render_part("takes.html", listening.takes(studio_of(request)), shell))


def state_part(request: Request) -> Response:
    """The piano's state alone, in words and as the class of the head's thread."""
    shell = _shell(request, "listening")
    html = render_part("state.html", Panel("state"), shell)
    return JSONResponse(
        {"state": shell.state, "html": html, "said": f"{shell.listening.first} {shell.listening.second}"}
    )


def problem(request: Request, error: Exception) -> Response:
    """What keysense cannot do, as a page that says what to do next."""
    panels = [
        Panel("text", "", {"said": [str(error) if isinstance(error, KeysenseError) else word("notfound.fault")]}),
        Panel("links", "", {"said": "", "links": _home()}),
    ]
    page = Page("", word("notfound.title"), "", panels)
    # what cannot be done is an answer like any other; only what is not there, and a fault of ours, are not
    status = 404 if isinstance(error, UnknownName) else 200 if isinstance(error, KeysenseError) else 500
    return HTMLResponse(render(page, _shell(request, "problem")), status)


def _home() -> list[dict[str, str]]:
    return [{"href": "/", "said": word("notfound.back")}]


def notice_of(request: Request) -> str:
    """What the last press did, said once."""
    key = request.query_params.get("done", "")
    return word(f"done.{key}") if has_word(f"done.{key}") else ""
