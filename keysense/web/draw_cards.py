"""What the templates of the lesson's takes are given: a drawing and a few words for each."""

from __future__ import annotations

from collections import OrderedDict
from typing import Any

from markupsafe import Markup

from keysense.notes import Take
from keysense.plots.drawing import thread_drawing
from keysense.words import word

__all__ = ["cards"]

_MOST_CARDS = 200
_LARGE = 2  # what a lesson talks about is what was played just now
_CARDS: OrderedDict[tuple[object, ...], str] = OrderedDict()


def cards(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The takes of the lesson page: whose, when, and the thread drawing, all on one scale of time.

    The newest are told at length, and the newest without a name; of each older one stands a line.
    """
    longest = max((row["notes"].duration_s for row in rows), default=1.0)
    cards: list[dict[str, Any]] = []
    for row in rows:
        named, take = row["named"], row["named"].take
        title = word("take.drawn", title=named.title)
        state = "gone" if take.state == "dropped" else "named" if take.state == "kept" else "open"
        perhaps = state == "open" and bool(named.piece)
        cls = "c" if take.is_model else ""
        drawn = Markup(_card_thread(take.id, row["notes"], title, max(longest, 4.0), cls))  # noqa: S704
        more = {name: row[name] for name in ("cuts", "question", "likely")}
        said = _card_words(named)
        asks = state == "open" and not any(card["cls"] == "open" for card in cards)
        brief = len(cards) >= _LARGE and state != "gone" and not row["question"] and not asks
        card = {"named": named, "cls": state, "perhaps": perhaps, "said": said, "drawing": drawn, "brief": brief}
        cards.append({**card, **more})
    return cards


def _card_thread(take_id: str, notes: Take, title: str, seconds: float, cls: str) -> str:
    """The thread of one take, drawn once: its notes never change, and the page asks anew at every take that comes."""
    key = (take_id, title, seconds, cls)
    drawn = _CARDS.get(key) or thread_drawing(notes, title, seconds=seconds, cls=cls)
    _CARDS[key] = drawn
    if len(_CARDS) > _MOST_CARDS:
        _CARDS.popitem(last=False)
    return drawn


def _card_words(named: Any) -> str:
    take = named.take
    if not named.piece and take.state == "waiting":
        return word("take.waiting", when=named.when)
    if take.state == "waiting":
        return word("take.carried" if named.who else "take.carried.nobody", pupil=named.who, when=named.when)
    if take.named_line:
        return word("take.named_line", pupil=named.who, when=named.when, line=take.named_line)
    key = "take.named" if named.who else "take.named.nobody"
    return word(key, pupil=named.who, when=named.when)
