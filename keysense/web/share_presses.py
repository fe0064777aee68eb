"""Pressing in the child's share: a guess, a remark, a line drawn before playing, a word of their own."""

from __future__ import annotations

from urllib.parse import quote, urlencode

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from keysense.dashboards import draw
from keysense.dashboards.take import HEARD_WHERE
from keysense.dashboards.two_characters import ANSWERS
from keysense.errors import StudioError
from keysense.web.draw_wish import STEPS, bars_of_part
from keysense.web.forms import back_to, our_path, press
from keysense.web.pages import show, studio_of
from keysense.web.presses import unheard

__all__ = ["ROUTES"]


@press
def guess(request: Request, form: FormData) -> Response:
    """Where did it grow? The guess is kept, then the picture opens."""
    studio, ref, choice = studio_of(request), request.path_params["ref"], str(form.get("guess", ""))
    if choice in HEARD_WHERE:
        choice = studio.guess(ref, "grow", choice)
    return RedirectResponse(f"/take/{quote(ref)}?{urlencode({'guess': choice or 'skip'})}", 303)


@press
def guess_pair(request: Request, form: FormData) -> Response:
    """Which was louder? The guess is kept, then the pictures open."""
    first, second = request.path_params["first"], request.path_params["second"]
    choice = str(form.get("guess", ""))
    if choice in ANSWERS:
        choice = studio_of(request).guess(first, "louder", choice, beside=second)
    return RedirectResponse(f"/beside/{quote(first)}/{quote(second)}?{urlencode({'guess': choice or 'skip'})}", 303)


@press
def remark(request: Request, form: FormData) -> Response:
    """A line about a take, by its pupil or the teacher; with an id, other words for that one, or none."""
    studio, ref = studio_of(request), request.path_params["ref"]
    said, kept = str(form.get("said", "")), str(form.get("remark", ""))
    by, back = ("teacher" if form.get("by") == "teacher" else "pupil"), f"/take/{ref}"
    if "away" in form:
        said = ""
    if kept:
        studio.change_remark(ref, kept, said)
    elif said.strip():
        studio.remark(ref, said, by=by)  # type: ignore[arg-type]
    opened = "&open=1#teacher" if by == "teacher" else f"#says-{by}"
    done = "remarked" if said.strip() else "unremarked"
    return RedirectResponse(f"{_still_guessed(back, form, done)}{opened}", 303)


def _still_guessed(back: str, form: FormData, done: str) -> str:
    """Back to the page as it was: with its guess, or with its question still open, and what was done."""
    guessed = str(form.get("guess", ""))
    return f"{quote(back)}?{urlencode({**({'guess': guessed} if guessed else {}), 'done': done})}"


def draw_page(request: Request) -> Response:
    """Room to draw, for one pupil and piece."""
    query = request.query_params
    part = query.get("part", "0")
    page = draw.page(
        studio_of(request), request.path_params["pupil"], request.path_params["piece"],
        character=query.get("character", ""), part=int(part) if part.isdecimal() and len(part) < 5 else 0,
    )  # fmt: skip
    return show(request, "draw", page, emphasis=(query.get("character", ""),))


@press
def keep_line(request: Request, form: FormData) -> Response:
    """The line is kept for what is played next; the next takes carry the name."""
    studio = studio_of(request)
    pupil, piece = studio.pupil(str(form.get("pupil", ""))), studio.piece(str(form.get("piece", "")))
    character, part = str(form.get("character", "")), str(form.get("part", "0"))
    heights = [str(one) for one in form.getlist("h")]
    if not heights or not all(one.isdecimal() and int(one) <= STEPS for one in heights):
        raise StudioError("a drawn line needs at least two places between soft and loud: draw it once more")
    target = studio.target_of(piece.id).target
    bars = target.bars
    shown = bars[bars_of_part(target, int(part) if part.isdecimal() else 0)]
    span = float(shown["start_quarter"][0]), float(shown["start_quarter"][-1] + shown["length_quarter"][-1])
    studio.draw_wish(pupil.id, piece.id, [int(one) / STEPS for one in heights], span=span, character=character)
    studio.set_context(pupil=pupil.id, piece=piece.id, character=character)
    return back_to("/", "drawn_unheard" if unheard(request) else "drawn")


@press
def rub_out(request: Request, form: FormData) -> Response:
    """The drawn line is taken away."""
    studio_of(request).rub_out(request.path_params["wish"])
    back = our_path(str(form.get("back", "/")))
    return RedirectResponse(f"{quote(back)}?guess=skip&done=rubbed", 303)


@press
def own_word(request: Request, form: FormData) -> Response:
    """What a pupil calls a character, and wishes of it."""
    said = {name: str(form.get(name, "")) for name in ("word", "wish")}
    studio_of(request).set_own_word(str(form.get("pupil", "")), str(form.get("character", "")), **said)
    back = our_path(str(form.get("back", "/")))
    return RedirectResponse(_still_guessed(back, form, "owned"), 303)


ROUTES = (
    Route("/take/{ref}/guess", guess, methods=["POST"]),
    Route("/beside/{first}/{second}/guess", guess_pair, methods=["POST"]),
    Route("/take/{ref}/remark", remark, methods=["POST"]),
    Route("/draw/{pupil}/{piece}", draw_page),
    Route("/draw", keep_line, methods=["POST"]),
    Route("/draw/{wish}/rub", rub_out, methods=["POST"]),
    Route("/own-word", own_word, methods=["POST"]),
)
