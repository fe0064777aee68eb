"""Where is the tune caught again and again? One pupil's takes of one piece together: one place for the child."""

from __future__ import annotations

from keysense.dashboards._hearing import hear_again
from keysense.dashboards._names import name_takes
from keysense.dashboards._onward import onward
from keysense.dashboards._wish import again, wish_from

from keysense.comparing.spots import KINDS
from keysense.page import Page, Panel
from keysense.papers import wish_for
from keysense.practice import read_practice
from keysense.studio.many import spots_of, tricky_spots
from keysense.studio.studio import Studio
from keysense.targets.target import Target
from keysense.words import counted, translated, word
from keysense.words.many import say_piece_spot, say_spot, say_spots_to_child

__all__ = ["QUESTION", "page"]

QUESTION = "Where is the tune caught again and again?"


def page(studio: Studio, pupil_id: str, piece_id: str) -> Page:
    """The page of one pupil in one piece. Raises UnknownName, and StudioError on a piece without its music."""
    pupil, piece = studio.pupil(pupil_id), studio.piece(piece_id)
    target = studio.target_of(piece.id).target
    found = spots_of(studio, pupil.id, piece.id)
    newest = int(read_practice(studio.folder.own_practice).value("spot_gone"))
    panels = [Panel("say", "", {"said": say_spots_to_child(found, target.end_quarter), "aloud": True})]
    here = next((spot for spot in found.spots if spot.state != "gone"), None)
    if here is not None:
        panels.append(Panel("place", "", {"target": target, "spot": here, "title": piece.title}))
    rows = [
        (max(KINDS, key=lambda kind: spot.kinds.get(kind, 0)), say_spot(spot, newest=newest)) for spot in found.spots
    ]
    panels += [*_to_try(studio, pupil.id, piece.id, target), onward(pupil)]
    under = [word("sight.why", why=translated(found.why))] if found.why else []
    under += [] if found.why or rows else [counted("spots.from", found.takes)]
    if not found.why and not rows:
        under.insert(0, word("spots.none"))
    everyone = [say_piece_spot(spot) for spot in tricky_spots(studio, piece.id)] or [word("spots.piece.none")]
    panels += [
        Panel("caught", word("spots.own"), {"rows": rows, "said": under}, for_teacher=True),
        Panel("text", word("spots.everyone"), {"said": everyone}, for_teacher=True),
    ]
    return Page(QUESTION, piece.title, word("spots.above", pupil=pupil.nickname), panels)


def _to_try(studio: Studio, pupil_id: str, piece_id: str, target: Target) -> list[Panel]:
    """The newest take to be heard, and what is wished of the tune."""
    takes = [take for take in studio.takes(pupil=pupil_id, piece=piece_id, state="kept", limit=5) if not take.is_model]
    if not takes:
        return []
    wish = wish_from(*wish_for(studio, takes[0]))
    plain = None if wish["said"] else wish
    return [*again(wish), hear_again(name_takes(studio, takes[:1]), target=target, again=plain)]
