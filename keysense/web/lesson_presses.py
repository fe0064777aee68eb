"""Pressing on the page of the lesson: answers, names by tapping, splitting and joining, the line, the warm-up."""

from __future__ import annotations

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from keysense.errors import CaptureError, StudioError
from keysense.studio.doubting import answer_cut, answer_piece, answer_pupil, answer_shown
from keysense.studio.looking import heard
from keysense.web.forms import back_to, press, press_of
from keysense.web.pages import own_studio, studio_of
from keysense.words import word

__all__ = ["ROUTES"]


@press
def answer(request: Request, form: FormData) -> Response:
    """A question about a take is answered: which piece, who played, one tune or two."""
    studio, take_id = studio_of(request), studio_of(request).take(request.path_params["ref"]).id
    kind, said = request.path_params["kind"], str(form.get("said", ""))
    if kind == "piece":
        answer_piece(studio, take_id, sounds=said == "yes")
    elif kind == "pupil":
        answer_pupil(studio, take_id, studio.pupil(said).id)
    elif kind == "shown":
        left = answer_shown(studio, take_id, mine=said == "yes")
        if left.id != take_id:
            return back_to(_after_cut(form), "split", f"card-{left.id}")
    else:
        parts = answer_cut(studio, take_id, split=said == "yes")
        if len(parts) > 1:
            return back_to(_after_cut(form), "split", f"card-{parts[0].id}")
    return back_to(str(form.get("back", "/")), "answered", f"card-{take_id}")


@press
def tap(request: Request, form: FormData) -> Response:
    """Name a take by what was tapped: who, which piece, how."""
    studio, ref = studio_of(request), request.path_params["ref"]
    pupil, piece, character = (str(form.get(kind, "")) or None for kind in ("pupil", "piece", "character"))
    if pupil is None and piece is None:
        raise StudioError(word("tap.nothing"))
    take = studio.name_take(ref, pupil=pupil, piece=piece, character=character)
    heard(studio, take.id)
    return back_to(str(form.get("back", "/")), "named", f"card-{take.id}")


@press
def split(request: Request, form: FormData) -> Response:
    """Two takes of one, at the silence that was pressed."""
    studio = studio_of(request)
    note = str(form.get("note", ""))
    if not note.isdigit():
        raise StudioError(word("cut.none"))
    parts = studio.split_take(request.path_params["ref"], int(note))
    for part in parts:
        heard(studio, part.id)
    return back_to(_after_cut(form), "split", f"card-{parts[0].id}")


@press
def join(request: Request, form: FormData) -> Response:
    """One take of this one and the one before it."""
    studio = studio_of(request)
    take = studio.take(request.path_params["ref"])
    before = studio.neighbour_before(take)
    if before is None:
        raise StudioError(word("cut.none"))
    joined = studio.join_takes(before.id, take.id)
    heard(studio, joined.id)
    return back_to(_after_cut(form), "joined", f"card-{joined.id}")


@press
def uncut(request: Request, form: FormData) -> Response:
    """As it was before it was split or joined."""
    back = studio_of(request).undo_cut(request.path_params["ref"])
    return back_to(_after_cut(form), "uncut", f"card-{back[0].id}")


@press_of("line")
def line(request: Request, form: FormData) -> Response:
    """The loudness as a line while it is played, in this lesson or no more."""
    on = form.get("on") == "yes"
    from keysense.capture.state import ListeningState

    if on and not ListeningState(own_studio(request).folder.journal).wanted:
        raise CaptureError(word("line.alone"))
    request.app.state.line.switch(on)
    return back_to("/", "line_on" if on else "line_off")


@press_of("warmup")
def warmup(request: Request, form: FormData) -> Response:
    """The standing warm-up: one piece and a hand, in place of the one before; or none."""
    studio, hand = studio_of(request), str(form.get("hand", ""))
    piece = str(form.get("piece", ""))
    chosen = studio.piece(piece).id if piece else ""
    with studio.together():
        for stands in studio.warmups():
            studio.set_warmup(stands.id, on=False)
        if chosen:
            studio.set_warmup(chosen, hand=hand if hand in ("R", "L") else "")
    return back_to(str(form.get("back", "/")), "warmup" if chosen else "no_warmup")


def _after_cut(form: FormData) -> str:
    """A take's page does not stand any more once it was cut: back to the lesson."""
    back = str(form.get("back", "/"))
    return "/" if back.startswith(("/take/", "/shape/")) else back


ROUTES = [
    Route("/take/{ref}/answer/{kind}", answer, methods=["POST"]),
    Route("/take/{ref}/tap", tap, methods=["POST"]),
    Route("/take/{ref}/split", split, methods=["POST"]),
    Route("/take/{ref}/join", join, methods=["POST"]),
    Route("/take/{ref}/uncut", uncut, methods=["POST"]),
    Route("/line", line, methods=["POST"]),
    Route("/warmup", warmup, methods=["POST"]),
]
