"""Pressing on the pages of the pieces: files brought, tunes played in, marks made and taken back, characters kept."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from urllib.parse import quote, urlencode

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from keysense.comparing.characters import WISHES
from keysense.dashboards import character as character_page
from keysense.dashboards import marking, piece, pieces
from keysense.dashboards._teaching import asked_key
from keysense.errors import TargetError
from keysense.following.teacher import Taught, teach
from keysense.studio.studio import Studio
from keysense.targets.marking import Marking, read_place
from keysense.web.bringing import Players, bring_all, bring_one, number, piece_called
from keysense.web.forms import back_to, press, press_of
from keysense.web.pages import notice_of, show, studio_of
from keysense.words import word

__all__ = ["ROUTES"]


def shelf_page(request: Request) -> Response:
    """Which tunes are there?"""
    return show(request, "pieces", pieces.page(studio_of(request)), notice=notice_of(request))


def piece_page(request: Request) -> Response:
    """How does this tune go?"""
    return show(request, "piece", piece.page(studio_of(request), request.path_params["ref"]), notice=notice_of(request))


def mark_page(request: Request) -> Response:
    """What is asked of this tune, and where?"""
    faulty = getattr(request.state, "faulty", None)
    asked = faulty.typed if faulty else request.query_params
    layer, kind = asked.get("for", ""), asked.get("kind", "phrase")
    page = marking.page(studio_of(request), request.path_params["ref"], layer=layer, kind=kind)
    return show(request, "mark", page, notice=notice_of(request), emphasis=(layer,))


def one_character(request: Request) -> Response:
    """How would you like it to sound?"""
    said = request.path_params.get("word", "")
    page = character_page.page(studio_of(request), said)
    return show(request, "character", page, notice=notice_of(request), emphasis=(said,))


@press_of("bring", "/pieces")
def bring(request: Request, form: FormData) -> Response:
    """Files on to the shelf, one piece each; where one came, its page is shown."""
    brought = bring_all(studio_of(request), form.getlist("file"), Players.of(form))
    return back_to(f"/piece/{brought[0]}" if len(brought) == 1 else "/pieces", "brought")


@press_of("bring", "/piece/{ref}")
def bring_another(request: Request, form: FormData) -> Response:
    """Another file of a piece that is there."""
    studio, ref = studio_of(request), request.path_params["ref"]
    bring_one(studio, form.get("file"), piece_id=studio.piece(ref).id, players=Players.of(form))
    return back_to(f"/piece/{ref}", "brought")


@press_of("teach", "/pieces")
def teach_new(request: Request, form: FormData) -> Response:
    """What the teacher played is a new tune, or how one of this title goes from now on."""
    studio, title = studio_of(request), " ".join(str(form.get("title", "")).split())
    lesson = _lesson(studio, form, title)
    with studio.together():
        piece_id = piece_called(studio, title)
        lesson.keep(studio, piece_id)
    return back_to(f"/piece/{piece_id}", "taught")


@press_of("teach", "/piece/{ref}")
def teach_piece(request: Request, form: FormData) -> Response:
    """How this piece goes from now on."""
    studio, ref = studio_of(request), request.path_params["ref"]
    _lesson(studio, form, studio.piece(ref).title).keep(studio, ref)
    return back_to(f"/piece/{ref}", "taught")


@dataclass(frozen=True)
class _Lesson:
    """What the teacher's playings taught, before any of it is kept."""

    takes: list[str]
    pace: float
    bar: float
    taught: Taught

    @classmethod
    def of(cls, studio: Studio, title: str, takes: list[str], pace: float, bar: float) -> _Lesson:
        playing = [studio.take_notes(take_id) for take_id in takes]
        return cls(takes, pace, bar, teach(playing, title=title, tempo_qpm=pace, quarters_per_bar=bar))

    def keep(self, studio: Studio, piece_id: str) -> None:
        questions = [asdict(one) for one in self.taught.questions]
        asked = {"takes": self.takes, "pace": self.pace, "bar": self.bar, "questions": questions}
        with studio.together():
            studio.add_target(piece_id, self.taught.target)
            for take_id in self.takes:
                studio.mark_model(take_id, piece_id)
            studio.remember(asked_key(piece_id), asked if questions else {})


def _lesson(studio: Studio, form: FormData, title: str) -> _Lesson:
    chosen = [studio.take(str(ref)).id for ref in form.getlist("take")]
    if not chosen:
        raise TargetError(word("teach.no_take"))
    return _Lesson.of(studio, title, chosen, number(form, "pace"), number(form, "bar"))


@press
def stands(request: Request, form: FormData) -> Response:
    """Where recordings differ: it stands as it was taken, or one of them alone is the tune."""
    studio, ref = studio_of(request), request.path_params["ref"]
    kept, which = studio.recall(asked_key(ref)), str(form.get("which", ""))
    takes = kept.get("takes", [])
    if which.isdigit() and int(which) < len(takes):
        alone = [takes[int(which)]]
        _Lesson.of(studio, studio.piece(ref).title, alone, kept["pace"], kept["bar"]).keep(studio, ref)
    studio.remember(asked_key(ref), {})
    return back_to(f"/piece/{ref}", "stands")


@press_of("mark", "/piece/{ref}/mark")
def mark(request: Request, form: FormData) -> Response:
    """One mark, at the places that were tapped or written; the same again rubs it out."""
    studio, ref = studio_of(request), request.path_params["ref"]
    made = _marking(form)
    if made.kind == "phrase" and not made.layer and made.first in marking.ends_of_page(studio.unmarked(ref)):
        made = Marking("no phrase", made.first, made.first)
    studio.mark(ref, made)
    return _to_marking(ref, form, "marked")


def _marking(form: FormData) -> Marking:
    kind, layer, hand = (str(form.get(name, "")).strip() for name in ("kind", "for", "hand"))
    first, pitch = read_place(str(form.get("first", ""))), str(form.get("pitch", ""))
    last = read_place(str(form.get("last", ""))) if kind in ("crescendo", "diminuendo") else first
    guide = int(pitch) if kind == "guide" and pitch.isdigit() else None
    return Marking(kind, first, last, layer, hand if kind != "guide" else "", guide)  # type: ignore[arg-type]


@press
def rub(request: Request, form: FormData) -> Response:
    """Rub one mark out."""
    studio_of(request).rub_mark(request.path_params["ref"], str(form.get("id", "")))
    return _to_marking(request.path_params["ref"], form, "mark_rubbed")


@press
def unmark(request: Request, form: FormData) -> Response:
    """Take back the last thing done to the marks."""
    studio_of(request).undo_mark(request.path_params["ref"])
    return _to_marking(request.path_params["ref"], form, "unmarked")


def _to_marking(ref: str, form: FormData, done: str) -> Response:
    more = {name: str(form.get(name, "")) for name in ("for", "kind") if form.get(name)}
    return RedirectResponse(f"/piece/{quote(ref)}/mark?{urlencode({**more, 'done': done})}", 303)


@press_of("character", "/character")
def keep_character(request: Request, form: FormData) -> Response:
    """A character as it is wished; a word without wishes is an empty character."""
    studio, said = studio_of(request), " ".join(str(form.get("word", "")).split())
    wishes = {dimension: str(form.get(dimension, "")) for dimension in WISHES}
    kept = studio.keep_character(
        said, italian=str(form.get("italian", "")), says=str(form.get("says", "")), wishes=wishes
    )
    return back_to(f"/character/{kept.word}", "character")


@press
def forget_character(request: Request, form: FormData) -> Response:
    """A character's own file is taken away; one that ships is as it came."""
    studio, said = studio_of(request), request.path_params["word"]
    studio.forget_character(said)
    still_there = said in studio.characters()
    return back_to(f"/character/{said}" if still_there else "/pieces", "as_it_came" if still_there else "forgotten")


ROUTES = [
    Route("/pieces", shelf_page),
    Route("/pieces", bring, methods=["POST"]),
    Route("/pieces/teach", teach_new, methods=["POST"]),
    Route("/piece/{ref}", piece_page),
    Route("/piece/{ref}/file", bring_another, methods=["POST"]),
    Route("/piece/{ref}/teach", teach_piece, methods=["POST"]),
    Route("/piece/{ref}/stands", stands, methods=["POST"]),
    Route("/piece/{ref}/mark", mark_page),
    Route("/piece/{ref}/mark", mark, methods=["POST"]),
    Route("/piece/{ref}/rub", rub, methods=["POST"]),
    Route("/piece/{ref}/unmark", unmark, methods=["POST"]),
    Route("/character", one_character),
    Route("/character", keep_character, methods=["POST"]),
    Route("/character/{word}", one_character),
    Route("/character/{word}/forget", forget_character, methods=["POST"]),
]
