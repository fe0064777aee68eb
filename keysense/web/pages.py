"""Reading: every page of the studio, and the parts that an open page asks for again."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace

from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from keysense.dashboards import listening, shape, spots, take, two_characters, weeks
from keysense.dashboards import studio as studio_list
from keysense.errors import KeysenseError, UnknownName
from keysense.page import Page, Panel
from keysense.studio.studio import Studio
from keysense.web import draw_weeks
from keysense.web.begun import Begun, Made
from keysense.web.render import WIDTHS, Shell, render, render_part
from keysense.web.shell import shell_for
from keysense.words import has_word, word
from keysense.words.figures import sentence

__all__ = [
    "beside_page",
    "latest_pair",
    "lesson_page",
    "moment_of",
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


def soon(
    request: Request, name: str, make: Callable[[], Page], *, takes: Sequence[str] = (), **more: object
) -> Response:
    """A page that takes a while to make, inside its shell; begun before it is made.

    takes: what it is about. One that is not there is answered as such, before anything of the page is sent.
    """
    studio = studio_of(request)

    def characters() -> list[str]:
        return [studio.take(ref).character for ref in takes]

    def made() -> Made:
        return make(), _shell(request, name, emphasis=characters(), **more)

    def instead(fault: Exception) -> Made:
        return _said_of(fault, request.url.path), _shell(request, "problem")

    return Begun(lambda: moment_of(request), characters, made, instead)


@contextmanager
def moment_of(request: Request) -> Iterator[None]:
    """What is read inside is read as one moment of the studio, and of the teacher's own where that is another."""
    with studio_of(request).one_moment(), own_studio(request).one_moment():
        yield


def _shell(request: Request, name: str, **more: object) -> Shell:
    path = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    path = str(more.pop("path", path))
    state = request.app.state
    more = {
        "faulty": getattr(request.state, "faulty", None),
        "line": state.line.is_on,
        "width": width if (width := request.cookies.get("width", "")) in WIDTHS else "",
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
    is_open = "open" in request.query_params
    return soon(request, "listening", lambda: listening.page(studio), notice=notice_of(request), open=is_open)


def take_page(request: Request) -> Response:
    """How did this take go?"""
    studio, ref = studio_of(request), request.path_params["ref"]
    guess = request.query_params.get("guess", "")

    def made() -> Page:
        stored = studio.take(ref)
        return take.replaced(studio, stored) if stored.state == "replaced" else take.page(studio, ref, guess=guess)

    return soon(request, "take", made, takes=(ref,), notice=notice_of(request), open="open" in request.query_params)


def shape_page(request: Request) -> Response:
    """What shape did it have? Nothing else on the page."""
    studio, ref = studio_of(request), request.path_params["ref"]
    return soon(request, "shape", lambda: shape.page(studio, ref), takes=(ref,))


def beside_page(request: Request) -> Response:
    """Do the two differ?"""
    studio = studio_of(request)
    two = request.path_params["first"], request.path_params["second"]
    guess, is_open = request.query_params.get("guess", ""), "open" in request.query_params

    def made() -> Page:
        return two_characters.page(studio, *two, guess=guess)

    return soon(request, "beside", made, takes=two, notice=notice_of(request), open=is_open)


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
    page = studio_list.page(studio_of(request), whose=request.query_params.get("whose", "")[:80])
    return show(request, "studio", page, notice=notice_of(request))


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
    html, now = (render_part(name, Panel("state"), shell) for name in ("state.html", "nowoff.html"))
    said = f"{shell.listening.first} {shell.listening.second}"
    return JSONResponse({"state": shell.state, "html": html, "now": now, "said": said})


def problem(request: Request, error: Exception) -> Response:
    """What keysense cannot do, as a page that says what to do next."""
    # what cannot be done is an answer like any other; only what is not there, and a fault of ours, are not
    status = 404 if isinstance(error, UnknownName) else 200 if isinstance(error, KeysenseError) else 500
    return HTMLResponse(render(_said_of(error, request.url.path), _shell(request, "problem")), status)


def _said_of(error: Exception, path: str) -> Page:
    said = sentence(str(error)) if isinstance(error, KeysenseError) else word("notfound.fault")
    if isinstance(error, UnknownName) and path.startswith(("/take/", "/shape/", "/beside/")):
        said = word("notfound.take")
    panels = [
        Panel("text", "", {"said": [said]}),
        Panel("links", "", {"said": "", "links": _home()}),
    ]
    return Page("", word("notfound.title"), "", panels)


def _home() -> list[dict[str, str]]:
    return [{"href": "/", "said": word("notfound.back")}]


def notice_of(request: Request) -> str:
    """What the last press did, said once."""
    key = request.query_params.get("done", "")
    return word(f"done.{key}") if has_word(f"done.{key}") else ""
