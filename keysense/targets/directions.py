"""Marks that stand between the notes: dynamics, hairpins, tempo and its words, pedal, fermatas over rests."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from fractions import Fraction

from keysense.targets.between import between_the_staves
from keysense.targets.page import Sign
from keysense.targets.played import Played, PlayedSign
from keysense.targets.signs import Found
from keysense.targets.spans import Span, paired_signs
from keysense.targets.target import Mark, MarkKind

__all__ = ["direction_marks"]


def _words(*words: str) -> re.Pattern[str]:
    return re.compile(rf"\b(?:{'|'.join(words)})\b", re.IGNORECASE)


_SLOWER = _words("rit", "ritard", "ritardando", "riten", "ritenuto", "rall", "rallent", "rallentando", "allarg",
                 "allargando", "slentando", "calando", "morendo", "smorz", "smorzando")  # fmt: skip
_QUICKER = _words("accel", "accelerando", "string", "stringendo")
_A_TEMPO = _words("a tempo", "tempo i", "tempo 1", "tempo primo")
_LOUDER = _words("cresc", "crescendo")
_SOFTER = _words("dim", "diminuendo", "decresc", "decrescendo")
_SUDDEN = frozenset({"sf", "sfz", "sffz", "sfp", "sfpp", "sfzp", "fz", "fp", "pf", "rf", "rfz"})


def direction_marks(played: Played) -> tuple[list[Found], float | None]:
    """All of them, and the written tempo in quarters a minute, None where the page has none."""
    events = sorted(_events(played), key=lambda row: (row.at, not row.sign.kind.endswith(" stop")))
    events = between_the_staves(played, events, _of_loudness, _lasting)
    dynamics = _dynamics(played, events)
    hairpins = _hairpins(played, events)
    tempos, tempo_qpm = _tempos(played, events)
    found = [*dynamics, *hairpins, *tempos]
    found += _worded_hairpins(played, events, [*dynamics, *hairpins])
    found += _paces(played, events)
    found += [span.found(played, Mark("pedal", 0, 0, "")) for span in paired_signs(played, events, "pedal", ("start",))]
    found += _fermatas(played, events)
    return found, tempo_qpm


def _events(played: Played) -> Iterable[PlayedSign]:
    """Directions, and the dynamics that are written at a note."""
    yield from played.signs
    for note in played.notes:
        for onset, _, kind, value, id_ in note.signs:
            if kind == "dynamics":
                head = note.head
                sign = Sign(kind, head.bar, head.place, head.hand, value, id=id_, part=head.part, own_staff=True)
                yield PlayedSign(sign, onset, note.bar)


def _of_loudness(sign: Sign) -> bool:
    hairpin = sign.kind in ("wedge crescendo", "wedge diminuendo")
    return hairpin or sign.kind == "dynamics" or (sign.kind == "words" and _hairpin_word(sign.value) is not None)


def _lasting(sign: Sign) -> bool:
    return sign.kind == "dynamics" and sign.value not in _SUDDEN


def _same_hand(a: str, b: str) -> bool:
    return a == b or not a or not b


def _dynamics(played: Played, events: list[PlayedSign]) -> list[Found]:
    rows = [event for event in events if event.sign.kind == "dynamics"]
    lasting = [event for event in rows if _lasting(event.sign)]
    found = []
    for event in rows:
        sign = event.sign
        if sign.value in _SUDDEN:
            end = _note_end(played, event)
        else:
            later = (o.at for o in lasting if o.at > event.at and _same_hand(o.sign.hand, sign.hand))
            end = next(later, played.end)
        mark = Mark("dynamic", float(event.at), float(end), sign.id, sign.hand, sign.value)
        found.append(Found(mark, event.bar))
    return found


def _note_end(played: Played, event: PlayedSign) -> Fraction:
    later = played.notes_from(event.at, played.end, closed=True)
    return next((note.end for note in later if _same_hand(note.head.hand, event.sign.hand)), played.end)


def _hairpins(played: Played, events: list[PlayedSign]) -> list[Found]:
    found = []
    for span in paired_signs(played, events, "wedge", ("crescendo", "diminuendo")):
        kind: MarkKind = "crescendo" if span.start.sign.kind.endswith("crescendo") else "diminuendo"
        found.append(span.found(played, Mark(kind, 0, 0, "")))
    return found


def _worded_hairpins(played: Played, events: list[PlayedSign], others: list[Found]) -> list[Found]:
    """``cresc.`` and ``dim.``: to the end of their dashes, else to the next dynamic or hairpin of that hand."""
    dashes = {span.start.at: span.end for span in paired_signs(played, events, "dashes", ("start",))}
    rows = [event for event in events if event.sign.kind == "words" and _hairpin_word(event.sign.value)]
    starts = sorted([(row.mark.start_quarter, row.mark.hand) for row in others] + [(r.at, r.sign.hand) for r in rows])
    found = []
    for event in rows:
        kind = _hairpin_word(event.sign.value)
        if kind is None:
            continue
        later = (Fraction(at) for at, hand in starts if at > event.at and _same_hand(hand, event.sign.hand))
        end = dashes.get(event.at) or next(later, played.end)
        found.append(Span(event, end).found(played, Mark(kind, 0, 0, "", value=event.sign.value)))
    return found


def _hairpin_word(words: str) -> MarkKind | None:
    return "crescendo" if _LOUDER.search(words) else "diminuendo" if _SOFTER.search(words) else None


def _paces(played: Played, events: list[PlayedSign]) -> list[Found]:
    """``rit.`` and ``accel.``: to the end of their dashes, else to a tempo or a new metronome mark, else to the end."""
    dashes = {span.start.at: span.end for span in paired_signs(played, events, "dashes", ("start",))}
    ends = [e.at for e in events if e.sign.kind == "metronome" or (e.sign.kind == "words" and _pace(e.sign.value))]
    found: dict[tuple[Fraction, str], Found] = {}
    for event in events:
        kind = _pace(event.sign.value) if event.sign.kind == "words" else ""
        if kind not in ("ritardando", "accelerando"):
            continue
        end = dashes.get(event.at) or next((at for at in ends if at > event.at), played.end)
        # A word over each of two staves is one pace.
        mark = Mark("ritardando", float(event.at), float(end), event.sign.id, "", event.sign.value)
        if kind == "accelerando":
            mark = Mark("accelerando", float(event.at), float(end), event.sign.id, "", event.sign.value)
        found.setdefault((event.at, kind), Found(mark, event.bar))
    return list(found.values())


def _pace(words: str) -> str:
    if _A_TEMPO.search(words):
        return "a tempo"
    return "ritardando" if _SLOWER.search(words) else "accelerando" if _QUICKER.search(words) else ""


def _tempos(played: Played, events: list[PlayedSign]) -> tuple[list[Found], float | None]:
    """The first written tempo, and a mark for each later one that differs, and for a first one in mid-piece.

    Metronome marks go before the hints for sounding; before the first mark the hints are all there is.
    """
    marks, hints = (
        [(event, qpm) for event in events if event.sign.kind == kind and (qpm := _qpm(event.sign.value))]
        for kind in ("metronome", "sound tempo")
    )
    rows = [*(row for row in hints if not marks or row[0].at < marks[0][0].at), *marks]
    if not rows:
        return [], None
    found = []
    now = rows[0][1] if rows[0][0].at <= min((note.onset for note in played.notes), default=0) else None
    for k, (event, qpm) in enumerate(rows):
        if qpm != now:
            now = qpm
            end = next((later.at for later, other in rows[k + 1 :] if other != qpm), played.end)
            mark = Mark("tempo", float(event.at), float(end), event.sign.id, "", f"{qpm:g}")
            found.append(Found(mark, event.bar))
    return found, rows[0][1]


def _qpm(text: str) -> float | None:
    try:
        qpm = float(text)
    except ValueError:
        return None
    return qpm if math.isfinite(qpm) and 1 <= qpm <= 2000 else None


def _fermatas(played: Played, events: list[PlayedSign]) -> list[Found]:
    """Fermatas over a rest or a bar line; ``number`` holds the length of what they stand over."""
    found = []
    for event in events:
        if event.sign.kind == "fermata":
            end = event.at + Fraction(event.sign.number)
            mark = Mark("fermata", float(event.at), float(end), event.sign.id, event.sign.hand)
            found.append(Found(mark, event.bar))
    return found
