"""What is asked in the music, as paper laid under it: ends of phrases, guide notes, hairpins, a character's slurs.

The engraved notes stay as they are; the paper lies behind them, and hairpins lie in a strip of their own below. A slur
of the page is engraved; that of a character is a bow of paper from its first note to its last.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Protocol

from keysense.plots.svg import circle, named, path, rounded
from keysense.targets.target import Mark, Target, page_id
from keysense.words.catalogue import word

__all__ = ["STRIP", "LineOfMusic", "has_wedge", "paper_under"]

STRIP = 46.0  # user units below the music, for hairpins
_TONGUE, _TONGUE_LONG = 11.0, 4.4  # half its width; its length in halves: it hangs from the edge, above the notes
_GUIDE = 25.0
_BOW_AWAY, _BOW_HIGH, _BOW_THICK = 26.0, 44.0, 15.0  # from the noteheads, of the arch, in its middle
_NEAR = 1e-4


class LineOfMusic(Protocol):
    """One line of music, engraved or drawn: where its notes stand, by page id."""

    @property
    def width(self) -> float:
        """Width in user units."""

    @property
    def height(self) -> float:
        """Height in user units."""

    @property
    def note_x(self) -> Mapping[str, float]:
        """The middle of each note."""

    @property
    def note_y(self) -> Mapping[str, float]:
        """The middle of each note."""

    @property
    def bar_lines(self) -> tuple[float, ...]:
        """Where bars end, from left to right."""


def paper_under(
    target: Target, line: LineOfMusic, *, layer: str = "", engraved: Collection[str] = (), scale: float = 1.0
) -> str:
    """The paper under one line. layer: also what one character is asked. engraved: hairpins that stand on the page."""
    wedges = [_wedge(target, line, mark, scale) for mark in _hairpins(target, layer, engraved)]
    tongues, guides = _tongues(target, line, layer, scale), _guides(target, line, layer, scale)
    return "".join([*_bows(target, line, layer, scale), *tongues, *guides, *wedges])


def has_wedge(target: Target, line: LineOfMusic, layer: str, engraved: Collection[str]) -> bool:
    """Whether a hairpin lies under this line, so that it needs its strip."""
    return any(page_id(id_) in line.note_x for mark in _hairpins(target, layer, engraved) for id_ in mark.note_ids)


def _hairpins(target: Target, layer: str, engraved: Collection[str]) -> list[Mark]:
    asked = target.marks_asked(layer)
    return [mark for mark in asked if mark.kind in ("crescendo", "diminuendo") and mark.id not in engraved]


def _tongues(target: Target, line: LineOfMusic, layer: str, scale: float) -> Iterator[str]:
    """A short tongue of paper with a cut corner, over the gap between the last note of a phrase and what follows."""
    ends = {float(start) for start in target.phrases[1:, 0]}
    ends |= {mark.end_quarter for mark in target.marks_asked(layer) if mark.kind == "breath"}
    onset = target.notes["onset_quarter"]
    seen = set()
    for end in sorted(end for end in ends if end < target.end_quarter - _NEAR):
        before = target.notes[(onset < end - _NEAR) & ~target.notes["is_grace"]]
        last = [page_id(str(id_)) for id_ in before["id"][before["onset_quarter"] == before["onset_quarter"].max()]]
        here = [line.note_x[id_] for id_ in last if id_ in line.note_x]
        if here and last[0] not in seen:
            seen.add(last[0])
            yield named(word("piece.key.phrase"), _tongue(_after(line, max(here)), _TONGUE * scale))


def _after(line: LineOfMusic, x: float) -> float:
    """Between a note and what stands next on its line: nearer to what stands next."""
    next_x = min((at for at in [*line.note_x.values(), *line.bar_lines, line.width] if at > x + 4), default=line.width)
    return x + 0.62 * (next_x - x)


def _tongue(x: float, half: float) -> str:
    left, right, tip = rounded(x - half), rounded(x + half), rounded(_TONGUE_LONG * half)
    corner = f"V{rounded((_TONGUE_LONG - 0.9) * half)}L{rounded(x + 0.1 * half)} {tip}"
    return path("paper", f"M{left} 0H{right}{corner}H{left}Z")


def _guides(target: Target, line: LineOfMusic, layer: str, scale: float) -> Iterator[str]:
    for mark in target.marks_asked(layer):
        if mark.kind == "guide":
            for id_ in dict.fromkeys(page_id(one) for one in mark.note_ids):
                if id_ in line.note_x:
                    disc = circle("paper", line.note_x[id_], line.note_y[id_], _GUIDE * scale)
                    yield named(word("piece.key.guide"), disc)


def _bows(target: Target, line: LineOfMusic, layer: str, scale: float) -> Iterator[str]:
    for mark in target.marks_asked(layer):
        if mark.kind == "slur" and mark.layer and "~" not in mark.id:
            ids = [page_id(id_) for id_ in mark.note_ids]
            here = sorted((line.note_x[id_], line.note_y[id_]) for id_ in ids if id_ in line.note_x)
            if here:
                ends = ids[0] in line.note_x, ids[-1] in line.note_x
                yield named(word("piece.key.slur"), _bow(here, ends, line.width, mark.hand == "L", scale))


def _bow(heads: list[tuple[float, float]], ends: tuple[bool, bool], width: float, below: bool, scale: float) -> str:
    """A bow over the noteheads (under them for the left hand); open towards the line where the slur goes on."""
    way = 1.0 if below else -1.0
    outermost = max if below else min
    left, right = heads[0], heads[-1]
    x0 = left[0] if ends[0] else min(at for at, _ in heads) - 30 * scale
    x1 = right[0] if ends[1] else width - 4
    y0, y1 = left[1] + way * _BOW_AWAY * scale, right[1] + way * _BOW_AWAY * scale
    # the curve comes half as far as its handle lies: high enough to pass what stands out between its ends
    out = outermost(y for _, y in heads) + way * (_BOW_AWAY + _BOW_HIGH) * scale
    handle = 2 * out - (y0 + y1) / 2
    middle, inner = (x0 + x1) / 2, handle - way * 2 * _BOW_THICK * scale
    a, b = f"{rounded(x0)} {rounded(y0)}", f"{rounded(x1)} {rounded(y1)}"
    return path("paper", f"M{a}Q{rounded(middle)} {rounded(handle)} {b}Q{rounded(middle)} {rounded(inner)} {a}Z")


def _wedge(target: Target, line: LineOfMusic, mark: Mark, scale: float) -> str:
    """The part of a hairpin that lies under this line, as wide open as its share of the whole tells."""
    ids = set(mark.note_ids)
    under = [(float(row["onset_quarter"]), page_id(str(row["id"]))) for row in target.notes if str(row["id"]) in ids]
    here = sorted((quarter, line.note_x[id_]) for quarter, id_ in under if id_ in line.note_x)
    if not here or "~" in mark.id:  # the second time through is drawn where the first time is
        return ""
    (first, left), (last, right) = here[0], here[-1]
    span = mark.end_quarter - mark.start_quarter
    ends = last == max(under)[0]
    share = [(first - mark.start_quarter) / span, 1.0 if ends else (last - mark.start_quarter) / span]
    half = [2 * scale + 16 * scale * (one if mark.kind == "crescendo" else 1 - one) for one in share]
    left, right = left - 10 * scale, _after(line, right) if ends else line.width - 4
    middle = line.height + STRIP * scale / 2
    outline = (
        f"M{rounded(left)} {rounded(middle - half[0])}L{rounded(right)} {rounded(middle - half[1])}"
        f"V{rounded(middle + half[1])}L{rounded(left)} {rounded(middle + half[0])}Z"
    )
    return named(word(f"mark.kind.{mark.kind}"), path("paper", outline))
