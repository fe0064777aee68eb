"""What is asked of this tune, and where? Its notes to tap, or a place to write; every mark in words."""

from __future__ import annotations

from typing import Any

from keysense.dashboards.piece import music_of

from keysense.errors import StudioError
from keysense.page import Page, Panel
from keysense.studio.rows import StoredTarget
from keysense.studio.studio import Studio
from keysense.targets.marking import Marking, place_at
from keysense.words import word
from keysense.words.figures import start_large
from keysense.words.pieces import say_marking

__all__ = ["KINDS", "QUESTION", "ends_of_page", "page"]

QUESTION = "What is asked of this tune, and where?"
KINDS = ("phrase", "guide", "crescendo", "diminuendo")
_NEAR = 1e-4


def page(studio: Studio, piece_id: str, *, layer: str = "", kind: str = "phrase") -> Page:
    """The page on which a piece is marked, for everyone or for one character; StudioError where it has no music."""
    piece, stored = studio.piece(piece_id), music_of(studio, piece_id)
    if stored is None:
        raise StudioError(word("piece.no_music"))
    layers = [("", word("mark.for.page")), *((name, name) for name in studio.characters())]
    if layer and layer not in dict(layers):
        layers.append((layer, layer))
    content = {
        "piece": piece_id, "title": piece.title, "layer": layer, "layers": layers, "target": stored.target,
        "kind": kind if kind in KINDS else "phrase", "kinds": KINDS, "heads": True,
        "own": {one.id for one in studio.markings(piece_id)},
        "rows": _rows(studio, stored, layer), "lost": [say_marking(one) for one in studio.lost_markings(piece_id)],
        "undo": studio.can_undo_mark(piece_id),
    }  # fmt: skip
    back = [{"href": f"/piece/{piece_id}", "said": word("piece.back")}]
    panels = [Panel("marking", "", content), Panel("links", "", {"said": "", "links": back})]
    return Page(QUESTION, word("mark.title"), piece.title, panels)


def _rows(studio: Studio, stored: StoredTarget, layer: str) -> list[dict[str, Any]]:
    """What is marked for these players, in the order of the music; each can be rubbed out."""
    own = [one for one in studio.markings(stored.piece_id) if one.layer in ("", layer)]
    rows = [{"at": one.first, "said": say_marking(one), "rub": one.id, "kind": "", "place": ""} for one in own]
    base = studio.unmarked(stored.piece_id)
    for end in ends_of_page(base):
        if not any(one.kind == "no phrase" and one.first == end for one in own):
            said = say_marking(Marking("phrase", end, end), page=True)
            place = f"{end[0]}.{end[1]:g}"
            rows.append({"at": end, "said": said, "rub": "", "kind": "no phrase", "place": place})
    came = _of_layer(base, layer) if layer else []
    rows += [{"at": at, "said": said, "rub": "", "kind": "", "place": ""} for at, said in came]
    return sorted(rows, key=lambda row: row["at"])


def _of_layer(base: StoredTarget, layer: str) -> list[tuple[tuple[int, float], str]]:
    """What one character is asked by the music as it came: where, and in words."""
    target, kinds = base.target, ("breath", "slur", "crescendo", "diminuendo")
    at = {str(row["id"]): place_at(target, float(row["onset_quarter"])) for row in target.notes}
    rows = []
    for mark in target.marks:
        places = [at[id_] for id_ in mark.note_ids if id_ in at]
        if mark.layer == layer and mark.kind in kinds and places and "~" not in mark.id:
            first = places[0] if mark.kind != "breath" else places[-1]
            rows.append((first, word("mark.said.came", said=_said(mark.kind, first, places[-1], layer))))
    return rows


def _said(kind: str, first: tuple[int, float], last: tuple[int, float], layer: str) -> str:
    if kind != "slur":  # which cannot be made by hand here, so it is no marking
        return say_marking(Marking("phrase" if kind == "breath" else kind, first, last, layer))  # type: ignore[arg-type]
    ends = (word("mark.at", bar=bar, quarter=f"{quarter:g}") for bar, quarter in (first, last))
    said = word("mark.said.slur", **dict(zip(("first", "last"), ends, strict=True)))
    return word("mark.said.layer", character=start_large(layer), said=said)


def ends_of_page(base: StoredTarget) -> list[tuple[int, float]]:
    """The last note of each phrase but the last, as the music came."""
    target = base.target
    onsets = target.notes["onset_quarter"]
    starts = [float(start) for start in target.phrases[1:, 0]]
    starts += [mark.end_quarter for mark in target.marks_asked() if mark.kind == "breath"]
    starts = [start for start in starts if start < target.end_quarter - _NEAR]
    lasts = {float(onsets[onsets < start - _NEAR].max()) for start in starts if (onsets < start - _NEAR).any()}
    return sorted({place_at(target, last) for last in lasts})
