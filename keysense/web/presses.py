"""Pressing: naming, dropping and taking back, listening or not, the next take, a pupil. Each leads back to its page."""

from __future__ import annotations

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from keysense.capture.state import ListeningState
from keysense.dashboards import listening, take
from keysense.errors import AgreementError, StudioError
from keysense.papers import press_wish
from keysense.studio.looking import heard
from keysense.targets.model import model_target
from keysense.web.bringing import bring_one, number, piece_called
from keysense.web.forms import back_to, our_path, press, press_of
from keysense.web.pages import own_studio, show, studio_of
from keysense.words import word
from keysense.words.figures import sentence

__all__ = ["add_pupil", "again", "ahead", "bring_piece", "drop", "name", "play_in", "switch", "undo", "unheard", "yes"]


@press
def name(request: Request, form: FormData) -> Response:
    """Name a take by one free line; what must be asked is asked back on the same page."""
    studio = studio_of(request)
    ref, line = request.path_params["ref"], str(form.get("line", "")).strip()
    stored, back = studio.take(ref), str(form.get("back", "/"))
    question, accept = "", False
    try:
        proposal = studio.name_line(ref, line, accept="accept" in form)
        question, accept = ("", False) if proposal.applied else (proposal.question, not proposal.doubts)
        if not proposal.applied and proposal.unknown and not proposal.new_character:
            accept = False
    except StudioError as cause:
        question = sentence(str(cause))
    if not question:
        heard(studio, stored.id)
        return back_to(back, "named")
    asked = {"asked": question, "asked_take": stored.id, "asked_line": line, "asked_accept": accept}
    asked |= {"path": our_path(back)}  # what is asked back stands on the page it came from: the next press leads there
    if back.startswith("/take/"):
        behind = stored.pupil_id is not None  # what has a name is named anew behind the fold
        return show(request, "take", take.page(studio, ref), open=behind, **asked)
    return show(request, "listening", listening.page(studio), **asked)


@press
def ahead(request: Request, form: FormData) -> Response:
    """Say before playing who plays what; or that it is nobody in particular."""
    studio, question = studio_of(request), ""
    line = "" if "nobody" in form else str(form.get("line", "")).strip()
    try:
        if not line and "nobody" not in form:
            raise StudioError(word("ahead.empty"))
        proposal = studio.name_next(line)
        if proposal.new_character and not proposal.applied:  # a new word is taken up: it can be said again at once
            proposal = studio.name_next(line, accept=True)
        question = "" if proposal.applied else proposal.question
    except StudioError as cause:
        question = sentence(str(cause))
    if not question:
        return back_to("/", "ahead" if line else "nobody")
    asked = {"asked": question, "asked_take": "ahead", "asked_line": line, "path": "/"}
    return show(request, "listening", listening.page(studio), **asked)


@press
def yes(request: Request, form: FormData) -> Response:
    """It is what it was taken for: kept under the name it carries."""
    studio_of(request).settle(request.path_params["ref"])
    return back_to("/", "kept")


@press
def drop(request: Request, form: FormData) -> Response:
    """Not this one."""
    studio_of(request).drop_take(request.path_params["ref"])
    return back_to("/", "dropped")


@press
def undo(request: Request, form: FormData) -> Response:
    """It was this one after all."""
    back = studio_of(request).undo_drop(request.path_params["ref"])
    heard(studio_of(request), back.id)  # it may have been dropped before it was known whether the carried name fits
    return back_to("/", "back")


@press
def again(request: Request, form: FormData) -> Response:
    """Play it again with this wish: its name is carried to the next take, the wish stands on the lesson page."""
    studio = studio_of(request)
    stored = studio.take(str(form.get("take", "")))
    said = str(form.get("said", ""))[:200]
    studio.wish_again(stored.id, said)
    press_wish(studio, stored, said)
    return back_to("/", unheard(request) or ("again" if said else "again_plain"))


def unheard(request: Request) -> str:
    """What must be said before anybody plays, where the piano could be listened to and is not; else nothing."""
    wanted = ListeningState(own_studio(request).folder.journal).wanted
    return "not_listening" if request.app.state.lesson is not None and not wanted else ""


@press
def switch(request: Request, form: FormData) -> Response:
    """Listening, or Not listening."""
    on = form.get("on") == "yes"
    ListeningState(own_studio(request).folder.journal).switch(on)
    if on:
        request.app.state.running.begin()  # trouble may have ended it
    return back_to(str(form.get("back", "/")))


@press_of("pupil")
def add_pupil(request: Request, form: FormData) -> Response:
    """A pupil with the agreement that lets takes be kept."""
    studio = studio_of(request)
    if form.get("agreed") != "yes":
        raise AgreementError("without a guardian's agreement nothing is kept: read it out, then tick that it was given")
    agreed_by, until = str(form.get("agreed_by", "")), str(form.get("until", "")).strip()
    nickname = str(form.get("nickname", ""))
    pupil = studio.add_pupil(nickname, agreed_by=agreed_by, on=studio.today(), until=until or None)
    if our_path(str(form.get("back", "/"))) == "/studio":  # written down at the desk: nobody sits at the piano for it
        return back_to("/studio", "added_here")
    studio.set_context(pupil=pupil.id)
    return back_to("/", "added")


@press_of("bring")
def bring_piece(request: Request, form: FormData) -> Response:
    """The page of a piece, from a file: a new piece, or a new version of the music of one that is there."""
    bring_one(studio_of(request), form.get("file"))
    return back_to(str(form.get("back", "/")), "brought")


@press_of("model", "/take/{ref}")
def play_in(request: Request, form: FormData) -> Response:
    """This take is how the tune goes: the teacher's own playing becomes the music of a piece."""
    studio, title = studio_of(request), " ".join(str(form.get("title", "")).split())
    stored = studio.take(request.path_params["ref"])
    pace, bar = number(form, "pace"), number(form, "bar")
    target = model_target([studio.take_notes(stored.id)], title=title, tempo_qpm=pace, quarters_per_bar=bar)
    piece_id = piece_called(studio, title)
    studio.add_target(piece_id, target)
    studio.mark_model(stored.id, piece_id)
    return back_to("/", "brought")
