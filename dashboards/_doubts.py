"""What is asked about a take, as one question with its answers: which piece, who played, one tune or two."""

from __future__ import annotations

from typing import Any

from keysense.studio.studio import Studio
from keysense.studio.wishing import Doubt
from keysense.words import word

__all__ = ["question_about"]

_IN_TURN = ("cut", "shown", "pupil", "piece")  # each changes what the next is asked of


def question_about(studio: Studio, take_id: str) -> dict[str, Any] | None:
    """The one question that is asked now: what is said, its kind, and answers as (what is sent, words of the press)."""
    doubts = {doubt.kind: doubt for doubt in studio.doubts(take_id)}
    asked = next((doubts[kind] for kind in _IN_TURN if kind in doubts), None)
    if asked is None:
        return None
    titles = {piece.id: piece.title for piece in studio.pieces()}
    pieces = {
        name: titles.get(str(asked.body.get(name)), "") for name in ("sounds", "named", "first", "second", "piece")
    }
    return {"kind": asked.kind, **_WORDS[asked.kind](studio, asked, pieces)}


def _piece(studio: Studio, asked: Doubt, pieces: dict[str, str]) -> dict[str, Any]:
    names = {"sounds": pieces["sounds"], "named": pieces["named"]}
    answers = [("yes", word("doubt.piece.yes", **names)), ("no", word("doubt.piece.no", **names))]
    return {"said": word("doubt.piece", **names), "answers": answers}


def _pupil(studio: Studio, asked: Doubt, pieces: dict[str, str]) -> dict[str, Any]:
    names = {pupil.id: pupil.nickname for pupil in studio.pupils()}
    others = [pupil_id for pupil_id in asked.body["others"] if pupil_id in names]
    pupil = names.get(asked.body["pupil"], "")
    one = names[others[0]] if len(others) == 1 else ""
    said = (
        word("doubt.pupil", pupil=pupil, piece=pieces["piece"], others=one)
        if one
        else word("doubt.pupil.many", pupil=pupil, piece=pieces["piece"])
    )
    return {"said": said, "answers": [(pupil_id, names[pupil_id]) for pupil_id in (*others, asked.body["pupil"])]}


def _cut(studio: Studio, asked: Doubt, pieces: dict[str, str]) -> dict[str, Any]:
    same = pieces["first"] == pieces["second"]
    said = word("doubt.cut.again" if same else "doubt.cut", first=pieces["first"], second=pieces["second"])
    return {"said": said, "answers": [("yes", word("doubt.cut.yes")), ("no", word("doubt.cut.no"))]}


def _shown(studio: Studio, asked: Doubt, pieces: dict[str, str]) -> dict[str, Any]:
    pupil = next((one.nickname for one in studio.pupils() if one.id == asked.body.get("pupil")), "")
    answers = [("yes", word("doubt.shown.yes")), ("no", word("doubt.shown.no", pupil=pupil))]
    return {"said": word("doubt.shown", piece=pieces["piece"]), "answers": answers}


_WORDS = {"piece": _piece, "pupil": _pupil, "cut": _cut, "shown": _shown}
