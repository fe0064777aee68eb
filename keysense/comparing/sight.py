"""Reading at first sight: before which notes did the tune wait longer than before the others?

Conventions
    A pause is ln(seconds / written quarters) of the step that leads to a note, both hands together. Each take has a
    pace and a drift of its own, and each written length a pause of its own; they are fitted along. Steps the page
    itself sets free (rests, phrase ends, fermatas, inside the last bar) tell nothing; waits do: they are what is
    looked for. Cards are pooled; chance is judged by shuffling the pauses inside
    each take and written length. What was heard is told, never a cause: small hands wait before leaps too.

Findings
    pause_<class> (%): how much longer the pauses before the notes of a class are than before the others, with
    Student's interval of the logarithms. Classes: pattern_change (direction or size of the step changes) against inside
    the pattern; step, skip, leap (up to 2, up to 4, from 5 semitones) each against the others; guide_note;
    new_position (outside the seven semitones the hand has covered since it last moved); hand_change (the tune goes
    over from one hand to the other); bar_line; line_end (the first note of a new line, where lines are known). Moves
    are those of one hand, whatever the other does meanwhile.
    "waited": longer at least by the step of the table, the interval above 0, and so much comes from shuffling in at
    most 5 % of pages: the rarest of all classes is looked at first (of those that no shuffling reached the one furthest
    out), then, its notes set aside, the rarest of the rest. Changes of the pattern are the question that is asked
    first: they have three times as large a share of that chance as any other class.
    "went on": a pause longer by the clear amount can be ruled out. Else "can't tell".

References
    Rarest-of-all shuffling, with weights: Westfall & Young 1993; shuffling what a fit leaves: Freedman & Lane 1983
    (memory). The cut at .04 keeps pages with a false wait at or below 5 % (simulated; see the bench). No published
    value for children was found, and none is invented.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
import numpy.typing as npt

from keysense.comparing.classes import CLASSES, Card, card_of
from keysense.finding import Finding, Limit
from keysense.findings.heard import Heard
from keysense.findings.stats import t_quantile
from keysense.practice import Practice, read_practice

__all__ = ["Paused", "SightReading", "first_sight"]

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]
SightWord = Literal["waited", "went on", "can't tell"]
_SHUFFLES = 999
_FIRST = CLASSES.index("pattern_change")  # the question asked first
_FEWEST = 4  # notes of a class, and notes of none
_SEED = 20


@dataclass(frozen=True)
class Paused:
    """One class of notes. p: how often shuffling gives so large a pause in any class still in question."""

    name: str
    finding: Finding
    word: SightWord
    p: float | None = None


@dataclass(frozen=True)
class SightReading:
    """What was heard at first sight over some cards. classes: in the order of `CLASSES`; n: notes judged."""

    cards: int
    n: int
    classes: tuple[Paused, ...]
    why: str = ""

    def one(self, name: str) -> Paused | None:
        """The class of this name, None where no card has it."""
        return next((paused for paused in self.classes if paused.name == name), None)


def first_sight(
    takes: Sequence[Heard],
    *,
    guide_notes: Sequence[int] = (53, 60, 67),
    line_bars: Sequence[Sequence[int]] = (),
    practice: Practice | None = None,
) -> SightReading:
    """Where the cards of one pupil waited.

    guide_notes: MIDI pitches the pupil was taught to find first; F3, C4 and G4 by default (common practice, no source).
    line_bars: for each take the bars that begin a line of the page, as far as known.
    """
    table = practice or read_practice()
    lines = [*line_bars, *[()] * (len(takes) - len(line_bars))]
    cards = [card_of(take, guide_notes, bars) for take, bars in zip(takes, lines, strict=True)]
    pool = _pooled([card for card in cards if len(card.y)])
    fewest, n = int(table.value("sight_notes")), len(pool.y)
    if n < fewest:
        why = f"it takes {fewest} notes at first sight, two or three cards together, and {n} came"
        return SightReading(len(cards), n, (), why)
    told = _told(pool, table)
    there = [k for k in range(len(CLASSES)) if pool.member[k].any()]
    return SightReading(len(cards), n, tuple(_paused(k, told.get(k, _Judged(pool)), table) for k in there))


@dataclass(frozen=True)
class _Pool:
    """The pauses of all cards: y, where (take number, quarter), the stratum each is shuffled in, the classes."""

    y: Floats
    take: Ints
    quarter: Floats
    stratum: Ints
    member: Bools

    def only(self, kept: Bools) -> _Pool:
        return _Pool(self.y[kept], self.take[kept], self.quarter[kept], self.stratum[kept], self.member[:, kept])

    @cached_property
    def freed(self) -> tuple[Floats, Floats, Floats]:
        """y and each class as a row, freed of what take, drift and written length explain; and the basis of that."""
        dummies = self.stratum[:, None] == np.unique(self.stratum)
        slopes = (self.take[:, None] == np.unique(self.take)) * self.quarter[:, None]
        basis, size, _ = np.linalg.svd(np.concatenate([dummies, slopes], 1).astype(float), full_matrices=False)
        basis = basis[:, size > 1e-9 * size[0]]
        rows = np.concatenate([self.y[None], self.member.astype(float)])
        rows = rows - (rows @ basis) @ basis.T
        return rows[0], rows[1:], basis


def _pooled(cards: Sequence[Card]) -> _Pool:
    """All cards together; notes of a written length that a take hardly has are left out."""
    if not cards:
        none = np.zeros(0, np.int64)
        return _Pool(np.zeros(0), none, np.zeros(0), none, np.zeros((len(CLASSES), 0), bool))
    take = np.repeat(np.arange(len(cards)), [len(card.y) for card in cards])
    length = np.concatenate([np.round(96 * card.length) for card in cards])
    _, stratum, counts = np.unique(np.stack([take, length], 1), axis=0, return_inverse=True, return_counts=True)
    stratum = stratum.reshape(-1)
    y, quarter = (np.concatenate([getattr(card, name) for card in cards]) for name in ("y", "quarter"))
    member = np.concatenate([card.member for card in cards], axis=1)
    return _Pool(y, take, quarter - quarter.mean(), stratum, member).only(counts[stratum] >= _FEWEST)


@dataclass(frozen=True)
class _Judged:
    """The pool in which a class was judged, p, and whether it waited there."""

    pool: _Pool
    p: float | None = None
    waited: bool = False


def _told(pool: _Pool, table: Practice) -> dict[int, _Judged]:
    """What was judged of each class. The clearest is told first, and its notes are then set aside."""
    step, weight = math.log1p(table.value("sight_step") / 100), table.value("sight_first")
    rng = np.random.default_rng(_SEED)
    left = np.ones(len(pool.y), bool)
    found: dict[int, _Judged] = {}
    open_classes = list(range(len(CLASSES)))
    while here := [k for k in open_classes if _enough(pool.member[k, left])]:
        part = pool.only(left)
        scores = _scores(part, here, rng)
        by_chance = _beyond(scores)
        alone = by_chance / np.where(np.array(here) == _FIRST, weight, 1.0)
        rarest = alone[1:].min(1)
        p = {k: (1 + int((rarest <= one).sum())) / (_SHUFFLES + 1) for k, one in zip(here, alone[0], strict=True)}
        unreached = np.maximum(alone[0], 1 / (_SHUFFLES + 1))
        best = here[int(np.lexsort((-scores[0], unreached))[0])]
        longer, low, _ = _longer(best, part)
        found |= {k: _Judged(part, p[k]) for k in here}
        if p[best] > table.value("sight_page") or longer < step or low <= 0:
            return found
        found[best] = _Judged(part, p[best], waited=True)
        left = left & ~pool.member[best]
        open_classes.remove(best)
    return found


def _scores(part: _Pool, here: list[int], rng: np.random.Generator) -> Floats:
    """How clearly each class (a column) stands out: first as played, then shuffled, a row each."""
    y, classes, basis = part.freed
    size = np.sqrt((classes[here] ** 2).sum(1)).clip(1e-9)
    direction = (classes[here] / size[:, None]).T
    by_chance = _shuffled(y, part.stratum, rng)
    loose = np.sqrt((by_chance**2).sum(1) - ((by_chance @ basis) ** 2).sum(1)).clip(1e-9)
    played = (y @ direction)[None] / max(float(np.linalg.norm(y)), 1e-9)
    return np.concatenate([played, by_chance @ direction / loose[:, None]])


def _longer(k: int, pool: _Pool) -> tuple[float, float, float]:
    """ln of how much longer the pauses of a class are, and its interval; all the same where there are too few."""
    y, classes, basis = pool.freed
    size2, df = float((classes[k] ** 2).sum()), len(y) - basis.shape[1] - 1
    if df < 1 or size2 < 1e-9:
        return 0.0, 0.0, 0.0
    longer = float(classes[k] @ y) / size2
    rest = y - longer * classes[k]
    half = t_quantile(df) * math.sqrt(float(rest @ rest) / df / size2)
    return longer, longer - half, longer + half


def _beyond(scores: Floats) -> Floats:
    """By column: in which share of the rows a score so large or larger stands."""
    order = np.sort(scores, axis=0)
    below = np.stack(
        [np.searchsorted(column, own, side="left") for column, own in zip(order.T, scores.T, strict=True)], 1
    )
    return (len(scores) - below) / len(scores)


def _enough(inside: Bools) -> bool:
    return bool(min(inside.sum(), (~inside).sum()) >= _FEWEST)


def _shuffled(z: Floats, groups: Ints, rng: np.random.Generator) -> Floats:
    """Rows of the pauses, shuffled inside each group."""
    order = np.argsort(groups, kind="stable")
    tickets = rng.random((_SHUFFLES, len(z)))
    drawn = np.lexsort((tickets, np.broadcast_to(groups, tickets.shape)), axis=1)
    rows = np.empty_like(tickets)
    rows[:, order] = z[drawn]
    return rows


def _paused(k: int, judged: _Judged, table: Practice) -> Paused:
    """One class, by the figure of the notes it was judged by."""
    label, inside = f"pause_{CLASSES[k]}", judged.pool.member[k]
    n, among = int(inside.sum()), len(inside)
    longer, *ends = _longer(k, judged.pool)
    if not _enough(inside) or ends[0] == ends[1]:
        why = f"it takes {_FEWEST} such notes and as many others, and {min(n, among - n)} came"
        return Paused(CLASSES[k], Finding.missing(label, "%", why, n=n), "can't tell")
    value, low, high = (100 * math.expm1(v) for v in (longer, *ends))
    finding = Finding(label, value, "%", n, low, high, Limit(table.value("sight_step"), "max"))
    if judged.waited:
        return Paused(CLASSES[k], finding, "waited", judged.p)
    return Paused(CLASSES[k], finding, "went on" if high < table.value("sight_clear") else "can't tell", judged.p)
