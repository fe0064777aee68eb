"""In which order the bars of a page are played: repeats, endings, da capo, dal segno, coda, fine.

Conventions
    A backward repeat without a forward one goes back to the last repeat or to the beginning. After a da capo or dal
    segno nothing is repeated and the last ending is played (common practice, no source).
"""

from __future__ import annotations

from keysense.errors import TargetError
from keysense.targets.page import PageBar

__all__ = ["playing_order"]

_LONGEST = 20_000


def playing_order(bars: list[PageBar], *, repeats: bool = True) -> list[int]:
    """Rows of ``bars`` in the order played; each once and in page order with ``repeats`` off.

    Raises TargetError where the repeats never come to an end.
    """
    if not repeats:
        return list(range(len(bars)))
    reader = _Reader(bars)
    while reader.at < len(bars) and not reader.ended:
        if len(reader.order) > _LONGEST:
            raise TargetError(
                f"the repeats around bar {bars[reader.at].number} make more than {_LONGEST} bars: "
                "check the repeat signs and endings on the page"
            )
        reader.step()
    return reader.order


class _Reader:
    """Where the eye of a player is, and what it remembers."""

    def __init__(self, bars: list[PageBar]) -> None:
        self.bars = bars
        self.order: list[int] = []
        self.at = self.start = 0
        self.passing = 1
        self.jumped = self.ended = False

    def step(self) -> None:
        """Play or pass over one bar and go to the next."""
        bar = self.bars[self.at]
        after_endings = self.at > 0 and self.bars[self.at - 1].endings and not bar.endings
        if (bar.forward or after_endings) and self.at != self.start:
            self.start, self.passing = self.at, 1
        if bar.endings and self._passed_over(bar):
            self.at += 1
            return
        self.order.append(self.at)
        if not self._goes_back(bar) and not self._jumps(bar):
            self.at += 1

    def _passed_over(self, bar: PageBar) -> bool:
        wanted = self._last_ending() if self.jumped else self.passing
        return wanted not in bar.endings

    def _last_ending(self) -> int:
        """The highest number of this run of endings."""
        first = last = self.at
        while first > 0 and self.bars[first - 1].endings:
            first -= 1
        while last + 1 < len(self.bars) and self.bars[last + 1].endings:
            last += 1
        return max(max(bar.endings) for bar in self.bars[first : last + 1])

    def _goes_back(self, bar: PageBar) -> bool:
        if not bar.backward:
            return False
        times = self._last_ending() if bar.endings else bar.backward
        if not self.jumped and self.passing < times:
            self.passing += 1
            self.at = self.start
            return True
        if not bar.endings:
            self.start, self.passing = self.at + 1, 1
        return False

    def _jumps(self, bar: PageBar) -> bool:
        if self.jumped:
            if bar.fine:
                self.ended = True
                return True
            codas = [row for row, other in enumerate(self.bars) if other.coda and row > self.at]
            if bar.to_coda and codas:
                self.at = codas[0]
                return True
            return False
        if not bar.jump:
            return False
        segnos = [row for row, other in enumerate(self.bars) if other.segno]
        self.jumped = True
        self.at = segnos[0] if bar.jump == "segno" and segnos else 0
        self.start, self.passing = self.at, 1
        return True
