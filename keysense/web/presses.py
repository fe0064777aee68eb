"""Pressing: naming, dropping and taking back, listening or not, the next take, a pupil. Each leads back to its page."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from functools import wraps
from pathlib import Path, PurePath
from tempfile import TemporaryDirectory
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from keysense.capture.state import ListeningState
from keysense.dashboards import listening, take
from keysense.errors import AgreementError, AmbiguousName, TargetError
from keysense.studio.looking import heard
from keysense.targets import read_target
from keysense.targets.model import model_target
from keysense.web.pages import show, studio_of
from keysense.words import word

_LARGEST_PAGE = 16_000_000  # bytes of a score that a browser may send

__all__ = ["add_pupil", "again", "ahead", "bring_piece", "drop", "name", "play_in", "switch", "undo", "yes"]


def _press(pressed: Callable[[Request, FormData], Response]) -> Callable[[Request], Awaitable[Response]]:
    """Read the form, then press in a thread: a slow disk must not hold up the other pages."""

    @wraps(pressed)
    async def endpoint(request: Request) -> Response:
        async with request.form() as form:
            return await run_in_threadpool(pressed, request, form)

    return endpoint


@_press
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
    except (AgreementError, AmbiguousName) as cause:
        question = str(cause)
    if not question:
        heard(studio, stored.id)
        return _back(back, "named")
    asked = {"asked": question, "asked_take": stored.id, "asked_line": line, "asked_accept": accept}
    if back.startswith("/take/"):
        return show(request, "take", take.page(studio, ref), **asked)
    return show(request, "listening", listening.page(studio), **asked)


@_press
def ahead(request: Request, form: FormData) -> Response:
    """Say before playing who plays what; an empty line forgets it."""
    studio = studio_of(request)
    line = str(form.get("line", "")).strip()
    if not line:
        studio.set_context()
        return _back("/", "ahead")
    proposal = studio.propose(line)
    if not (proposal.sure or (proposal.new_character and not proposal.doubts)):
        asked = {"asked": proposal.question, "asked_take": "ahead", "asked_line": line}
        return show(request, "listening", listening.page(studio), **asked)
    now = studio.context
    meant = {kind: proposal.of(kind) for kind in ("pupil", "piece", "character", "manner")}
    studio.set_context(
        pupil=meant["pupil"].id if meant["pupil"] else now.pupil_id,
        piece=meant["piece"].id if meant["piece"] else now.piece_id,
        character=meant["character"].id if meant["character"] else proposal.new_character or "",
        manner=meant["manner"].id if meant["manner"] else now.manner,
    )
    return _back("/", "ahead")


@_press
def yes(request: Request, form: FormData) -> Response:
    """It is what it was taken for: kept under the name it carries."""
    studio_of(request).settle(request.path_params["ref"])
    return _back("/", "kept")


@_press
def drop(request: Request, form: FormData) -> Response:
    """Not this one."""
    studio_of(request).drop_take(request.path_params["ref"])
    return _back("/", "dropped")


@_press
def undo(request: Request, form: FormData) -> Response:
    """It was this one after all."""
    studio_of(request).undo_drop(request.path_params["ref"])
    return _back("/", "back")


@_press
def again(request: Request, form: FormData) -> Response:
    """Play it again with this wish: its name is carried to the next take, the wish stands on the lesson page."""
    studio = studio_of(request)
    stored = studio.take(str(form.get("take", "")))
    studio.set_context(pupil=stored.pupil_id, piece=stored.piece_id, character=stored.character, manner=stored.manner)
    studio.remember(listening.wish_key(stored.pupil_id), {"said": str(form.get("said", ""))[:200], "take": stored.id})
    return _back("/", "again")


@_press
def switch(request: Request, form: FormData) -> Response:
    """Listening, or Not listening."""
    ListeningState(studio_of(request).folder.journal).switch(form.get("on") == "yes")
    return _back(str(form.get("back", "/")))


@_press
def add_pupil(request: Request, form: FormData) -> Response:
    """A pupil with the agreement that lets takes be kept."""
    studio = studio_of(request)
    if form.get("agreed") != "yes":
        raise AgreementError("without a guardian's agreement nothing is kept: read it out, then tick that it was given")
    agreed_by = str(form.get("agreed_by", ""))
    pupil = studio.add_pupil(str(form.get("nickname", "")), agreed_by=agreed_by, on=studio.today())
    studio.set_context(pupil=pupil.id)
    return _back("/", "added")


@_press
def bring_piece(request: Request, form: FormData) -> Response:
    """The page of a piece, from a file: a new piece, or a new version of the music of one that is there."""
    sent, studio = form.get("file"), studio_of(request)
    if not isinstance(sent, UploadFile) or not sent.filename:
        raise TargetError(word("bring.empty"))
    data = sent.file.read(_LARGEST_PAGE + 1)
    if len(data) > _LARGEST_PAGE:
        raise TargetError(word("bring.large"))
    name = PurePath(sent.filename.replace("\\", "/")).name
    with TemporaryDirectory() as folder:
        file = Path(folder) / f"brought{PurePath(name).suffix.lower()}"
        file.write_bytes(data)
        try:
            target = read_target(file)
        except TargetError as cause:
            raise TargetError(str(cause).replace(str(file), name).replace(file.name, name)) from cause
    title = target.source.title if target.source.title not in ("", file.stem) else PurePath(name).stem
    known = next((piece for piece in studio.pieces() if piece.title == title), None)
    studio.add_target((known or studio.add_piece(title)).id, target)
    return _back("/", "brought")


@_press
def play_in(request: Request, form: FormData) -> Response:
    """This take is how the tune goes: the teacher's own playing becomes the music of a piece."""
    studio, title = studio_of(request), " ".join(str(form.get("title", "")).split())
    stored = studio.take(request.path_params["ref"])
    pace, bar = _number(form, "pace"), _number(form, "bar")
    target = model_target([studio.take_notes(stored.id)], title=title, tempo_qpm=pace, quarters_per_bar=bar)
    known = next((piece for piece in studio.pieces() if piece.title == title), None)
    piece = known or studio.add_piece(title)
    studio.add_target(piece.id, target)
    studio.mark_model(stored.id, piece.id)
    return _back("/", "brought")


def _number(form: FormData, name: str) -> float:
    said = str(form.get(name, "")).strip()
    try:
        return float(said.replace(",", "."))
    except ValueError:
        raise TargetError(word("playin.number", said=said)) from None


def _back(path: str, done: str = "") -> Response:
    """To a page of ours; a path that leads elsewhere leads to the lesson."""
    ours = path if path.startswith("/") and not path.startswith(("//", "/\\")) else "/"
    ours = ours.split("?", 1)[0]
    return RedirectResponse(f"{quote(ours)}{f'?done={done}' if done else ''}", 303)
