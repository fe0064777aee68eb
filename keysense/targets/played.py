"""The page laid out in the order it is played: bars with their starts, notes with ties joined."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from dataclasses import dataclass, field
from fractions import Fraction

from keysense.targets.page import Notehead, Page, PageBar, Sign

__all__ = ["Played", "PlayedBar", "PlayedNote", "PlayedSign", "lay_out"]

_SAME = 1e-7  # quarters: the finest place of a page lies ten times further off


@dataclass(frozen=True)
class PlayedBar:
    """One bar as played: ``passing`` is 1 the first time. ``jumped``: the bar before it on the page was not played."""

    number: int
    start: Fraction
    length: Fraction
    passing: int
    jumped: bool
    row: int


@dataclass
class PlayedNote:
    """One note as played, from its first notehead to the end of its last tied one."""

    head: Notehead
    id: str
    onset: Fraction
    end: Fraction
    number: int
    bar: int
    pitch: int
    last_head: Notehead
    signs: list[tuple[Fraction, Fraction, str, str, str]] = field(default_factory=list)


@dataclass(frozen=True)
class PlayedSign:
    """A direction as played: where, in which played bar."""

    sign: Sign
    at: Fraction
    bar: int


@dataclass
class Played:
    """Everything in playing order; notes are sorted by onset, at one onset in page order."""

    bars: list[PlayedBar]
    notes: list[PlayedNote]
    signs: list[PlayedSign]

    def __post_init__(self) -> None:
        # Comparing fractions is slow; a long page asks for its notes thousands of times.
        self._onsets = [float(note.onset) for note in self.notes]
        self._starts = [float(bar.start) for bar in self.bars]

    def notes_from(self, start: Fraction, end: Fraction, *, closed: bool) -> list[PlayedNote]:
        """Notes whose onset lies from ``start`` to ``end``, the end counted where ``closed``."""
        first = bisect_left(self._onsets, float(start) - _SAME)
        last = bisect_left(self._onsets, float(end) + (_SAME if closed else -_SAME))
        return self.notes[first:last]

    def bar_at(self, quarter: Fraction) -> int:
        """Row of the played bar that holds this quarter."""
        return max(0, bisect_left(self._starts, float(quarter) + _SAME) - 1)

    @property
    def end(self) -> Fraction:
        """Where the last bar ends."""
        return self.bars[-1].start + self.bars[-1].length


def lay_out(page: Page, order: list[int], pitches: dict[str, int]) -> Played:
    """Unfold the page. order: rows of ``page.bars`` as played; pitches: by notehead id."""
    bars = _bars(page.bars, order)
    heads: dict[int, list[Notehead]] = {}
    for head in page.noteheads:
        heads.setdefault(head.bar, []).append(head)
    signs: dict[int, list[Sign]] = {}
    for sign in page.signs:
        signs.setdefault(sign.bar, []).append(sign)
    joiner = _Joiner()
    played_signs = []
    for k, bar in enumerate(bars):
        if bar.jumped:
            joiner.let_go()
        for head in heads.get(bar.row, ()):
            joiner.add(head, bar, k, pitches[head.id])
        played_signs += [PlayedSign(sign, bar.start + sign.place, k) for sign in signs.get(bar.row, ())]
    return Played(bars, sorted(joiner.notes, key=lambda note: note.onset), played_signs)


def _bars(page_bars: list[PageBar], order: list[int]) -> list[PlayedBar]:
    passings: Counter[int] = Counter()
    first = page_bars[order[0]]
    start = -first.length if first.number == 0 else Fraction(0)
    rows: list[PlayedBar] = []
    for k, row in enumerate(order):
        passings[row] += 1
        bar = page_bars[row]
        jumped = k > 0 and row != order[k - 1] + 1
        rows.append(PlayedBar(bar.number, start, bar.length, passings[row], jumped, row))
        start += bar.length
    return rows


class _Joiner:
    """Joins tied noteheads into one note as they come by."""

    def __init__(self) -> None:
        self.notes: list[PlayedNote] = []
        self.open: list[PlayedNote] = []

    def let_go(self) -> None:
        """A jump: ties that end there still may be taken up by an ending that says so."""
        self.open = [note for note in self.open if note.end == self._reach()]

    def _reach(self) -> Fraction:
        return max((note.end for note in self.notes), default=Fraction(0))

    def add(self, head: Notehead, bar: PlayedBar, k: int, pitch: int) -> None:
        """Take one notehead: the continuation of a tie, or a note of its own."""
        onset = bar.start + head.place
        end = onset + head.length
        note = self._continued(head, onset, pitch) if head.tie_stop else None
        if note is not None:
            self.open.remove(note)
            note.end = end
            note.last_head = head
        else:
            suffix = "" if bar.passing == 1 else f"~{bar.passing}"
            note = PlayedNote(head, head.id + suffix, onset, end, bar.number, k, pitch, head)
            self.notes.append(note)
        note.signs += [(onset, end, *sign) for sign in head.signs]
        if head.tie_start and not head.is_grace:
            self.open.append(note)

    def _continued(self, head: Notehead, onset: Fraction, pitch: int) -> PlayedNote | None:
        """The open tie this notehead goes on with: the same voice before the same staff before any."""
        fitting = [n for n in self.open if n.pitch == pitch and n.end == onset and n.head.part == head.part]
        fitting.sort(key=lambda n: (n.last_head.voice != head.voice, n.last_head.hand != head.hand))
        return fitting[0] if fitting else None
