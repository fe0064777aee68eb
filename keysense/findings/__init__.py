"""What was heard in one take: figures with their uncertainty, their limit and their place.

One file a question; `keysense.findings.questions` is the table of them.
"""

from __future__ import annotations

from keysense.errors import NotesError
from keysense.findings.claims import weighed
from keysense.findings.contours import Contour, contours
from keysense.findings.heard import Asked, Heard
from keysense.findings.questions import QUESTIONS
from keysense.findings.reading import RECIPE, Reading, finding_from_json
from keysense.findings.rows import bounded
from keysense.following.following import Following
from keysense.notes import Take
from keysense.practice import Practice, read_practice
from keysense.targets.target import Target

__all__ = ["RECIPE", "Contour", "Reading", "finding_from_json", "look"]


def look(
    take: Take,
    target: Target,
    *,
    character: Asked | None = None,
    following: Following | None = None,
    practice: Practice | None = None,
) -> Reading:
    """Follow the take against the target (unless a following is given) and answer every question of the table.

    character: its own marks are looked at beside the page's, and where it asks for freedom of time evenness and drift
    are no question. practice: the table of limits, the one that ships by default. A lost place gives no findings.
    Where the target has a part for a second player, only the presses of the first are looked at and given back; if the
    two cannot be told apart, neither is judged. Raises NotesError where the following given is of another take or of
    another target.
    """
    if following is None:
        from keysense.following import own_of

        take, following = own_of(target, take)
    _refuse_of_others(following, take, target)
    if following.lost:
        return Reading(take, target, following, (), ())
    heard = Heard(take, target, following, practice or read_practice(), character)
    found = [bounded(finding, heard.practice) for question in QUESTIONS for finding in question(heard)]
    findings = weighed(found, heard.practice)
    return Reading(take, target, following, findings, contours(heard))


def _refuse_of_others(following: Following, take: Take, target: Target) -> None:
    pairs = following.pairs
    if len(pairs) != len(take.notes):
        raise NotesError(
            f"this following is of a take of {len(pairs)} notes, the take has {len(take.notes)}: "
            "give the one that `follow` gave for this take"
        )
    if len(pairs) and pairs["target"].max() >= len(target.notes):
        raise NotesError(f"this following is of a target of more than {len(target.notes)} notes: give its own target")
